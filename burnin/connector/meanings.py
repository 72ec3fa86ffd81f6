"""Names of what contacts carry and which way it goes; their words are in the catalogue."""

from __future__ import annotations

from burnin.core.meaning import Term, TermCode


class ContactTerm(TermCode):
    """What a contact carries, by its group; `lane` is a lane of the edge, or a picture channel."""

    LANE_TX = "contact_lane_tx", "lane"
    LANE_RX = "contact_lane_rx", "lane"
    GROUND = "contact_ground"
    POWER_12V = "contact_power_12v"
    POWER_3V3 = "contact_power_3v3"
    POWER_3V3AUX = "contact_power_3v3aux"
    PRESENCE_DETECT = "contact_presence_detect"
    RESET = "contact_reset"
    CLOCK = "contact_clock"
    JTAG = "contact_jtag"
    SMBUS = "contact_smbus"
    WAKE = "contact_wake"
    CLKREQ = "contact_clkreq"
    PWRBRK = "contact_pwrbrk"
    RESERVED = "contact_reserved"
    SENSE = "contact_sense"
    RAILS_GOOD = "contact_rails_good"
    CABLE_PRESENCE = "contact_cable_presence"
    MAIN_LANE = "contact_main_lane", "lane"
    MAIN_CLOCK = "contact_main_clock"
    CONFIG = "contact_config"
    AUX = "contact_aux"
    DDC = "contact_ddc"
    DDC_GROUND = "contact_ddc_ground"
    HOT_PLUG = "contact_hot_plug"
    SCREEN_POWER = "contact_screen_power"
    CEC = "contact_cec"
    UTILITY = "contact_utility"
    ALTERNATE_PAIR = "contact_alternate_pair"
    CONFIGURATION = "contact_configuration"
    USB2 = "contact_usb2"


class DirectionTerm(TermCode):
    """Which way a contact's signal or current goes, as the card sees it."""

    IN = "direction_in"
    OUT = "direction_out"
    BIDIR = "direction_bidir"
    IN_OPEN_DRAIN = "direction_in_open_drain"
    OUT_OPEN_DRAIN = "direction_out_open_drain"
    BIDIR_OPEN_DRAIN = "direction_bidir_open_drain"
    POWER_IN = "direction_power_in"
    POWER_OUT = "direction_power_out"
    RETURN = "direction_return"
    STRAP = "direction_strap"
    NONE = "direction_none"


def carried(group: str, lane: int | None) -> Term:
    """What contacts of a group carry; raises ValueError for a group that there is not."""
    term = ContactTerm(f"contact_{group}")
    return term(lane=lane) if term.fields else term()


def direction_term(direction: str) -> Term:
    """A direction's name; raises ValueError for one that there is not."""
    return DirectionTerm(f"direction_{direction}")()
