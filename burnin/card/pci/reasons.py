"""Why configuration space does not tell what was asked of it."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode


class ConfigReason(ReasonCode):
    """Why a register, a capability or what is decoded from them is not there.

    Offsets count bytes from the start of configuration space.
    """

    ALL_ONES = "config_all_ones"
    OUTSIDE = "config_outside", "offset"
    UNREAD = "config_unread"
    CUT_WITHOUT_PRIVILEGE = (
        "config_cut_without_privilege",
        "readable_bytes",
        "whole_bytes",
        "offset",
    )
    CUT_ON_THIS_BENCH = "config_cut_on_this_bench", "readable_bytes", "whole_bytes", "offset"
    CHAIN_ALL_ONES = "config_chain_all_ones", "offset"
    CHAIN_POINTS_OUTSIDE = "config_chain_points_outside", "offset"
    CHAIN_LOOPS = "config_chain_loops", "offset"
    NO_CAPABILITY = "config_no_capability", "capability"
    CAPABILITY_HIDDEN = "config_capability_hidden", "capability", "blank_entries"
    NO_BASE_ADDRESSES = "config_no_base_addresses", "header_type"
    PAYLOAD_RESERVED = "config_payload_reserved", "payload_code"
    SPEED_UNDEFINED = "config_speed_undefined", "speed_code"
    NO_LINK = "config_no_link"
    WIDTH_RESERVED = "config_width_reserved", "lanes"
    ACTIVE_UNREPORTED = "config_active_unreported"
    NO_SECOND_REGISTERS = "config_no_second_registers"
    NO_SLOT = "config_no_slot"
    POWER_RESERVED = "config_power_reserved", "power_code"
    NO_EQUALIZATION_STATUS = "config_no_equalization_status", "speed_gts"
