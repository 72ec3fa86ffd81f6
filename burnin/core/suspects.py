"""Who could cause a reading to fail, in order of likelihood, before anything is observed.

Likelihoods are weights of common practice at a repair bench, without a source, but where a line of
a table names one; only their order and what is ruled out (weight 0) matter.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from burnin.core.parties import Party

CONNECTOR = "fact sheet of the connector, §2, §4, §8 (signatures derived from the registers)"
PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Suspects:
    """Who could cause one kind of failure, each with its weight, and where that is from."""

    weights: Mapping[Party, float]
    source: str = PRACTICE


LINK_WIDTH = Suspects(
    {
        Party.CARD: 0.50,
        Party.SLOT: 0.30,
        Party.RISER: 0.10,
        Party.SET_UP: 0.06,
        Party.ROOT_PORT: 0.04,
    },
    CONNECTOR,
)
LINK_SPEED = Suspects(
    {
        Party.CARD: 0.35,
        Party.SET_UP: 0.25,
        Party.SLOT: 0.17,
        Party.RISER: 0.17,
        Party.ROOT_PORT: 0.06,
    },
    CONNECTOR,
)
LINK_ERRORS = Suspects(
    {Party.CARD: 0.42, Party.SLOT: 0.27, Party.RISER: 0.22, Party.ROOT_PORT: 0.09}, CONNECTOR
)
LINK_RATE = Suspects(
    {
        Party.DRIVER: 0.30,
        Party.SET_UP: 0.25,
        Party.ROOT_PORT: 0.20,
        Party.SLOT: 0.10,
        Party.CARD: 0.15,
    }
)
COPIED_WORDS = Suspects({Party.CARD: 0.6, Party.ROOT_PORT: 0.25, Party.DRIVER: 0.15})
TOGETHER = Suspects({Party.CARD: 0.8, Party.SUPPLY: 0.15, Party.DRIVER: 0.05})
STEPPED = Suspects({Party.CARD: 0.7, Party.SUPPLY: 0.25, Party.DRIVER: 0.05})
"""A supply that gives way when all parts begin to draw at once makes a sound card wrong."""
LEFT_THE_BUS = Suspects(
    {
        Party.CARD: 0.45,
        Party.SUPPLY: 0.22,
        Party.SLOT: 0.18,
        Party.RISER: 0.09,
        Party.ROOT_PORT: 0.06,
    },
    CONNECTOR,
)
STOPPED_WORKING = Suspects(
    {
        Party.CARD: 0.38,
        Party.DRIVER: 0.27,
        Party.SUPPLY: 0.15,
        Party.SLOT: 0.12,
        Party.RISER: 0.05,
        Party.ROOT_PORT: 0.03,
    }
)
HEAT = Suspects(
    {Party.CARD: 0.50, Party.SET_UP: 0.20, Party.ROOM: 0.15, Party.SENSOR: 0.15}
)
HEAT_RISE = Suspects({Party.CARD: 0.55, Party.SET_UP: 0.20, Party.SENSOR: 0.25})
HEAT_OF_PART = Suspects({Party.CARD: 0.75, Party.SENSOR: 0.25})
COOLING = Suspects({Party.CARD: 0.6, Party.SET_UP: 0.4})
FAN = Suspects({Party.CARD: 0.6, Party.SENSOR: 0.4})
SLOWED = Suspects(
    {
        Party.CARD: 0.5,
        Party.ROOM: 0.2,
        Party.SENSOR: 0.12,
        Party.SET_UP: 0.1,
        Party.SUPPLY: 0.08,
    }
)
CLOCKS = Suspects(
    {Party.CARD: 0.55, Party.SUPPLY: 0.2, Party.DRIVER: 0.15, Party.SET_UP: 0.1}
)
POWER = Suspects(
    {
        Party.SUPPLY: 0.35,
        Party.CARD: 0.35,
        Party.DRIVER: 0.15,
        Party.SET_UP: 0.1,
        Party.SENSOR: 0.05,
    }
)
OWN_POWER = Suspects(
    {Party.SUPPLY: 0.35, Party.CARD: 0.35, Party.DRIVER: 0.2, Party.SET_UP: 0.1}
)
MEMORY_CLOCK = Suspects({Party.DRIVER: 0.60, Party.CARD: 0.25, Party.SET_UP: 0.15})
SCREEN = Suspects({Party.MONITOR: 0.36, Party.CARD: 0.34, Party.CABLE: 0.28, Party.DRIVER: 0.02})
"""A monitor that is off or set to another input, or a plug that is not in, comes before a bad
output: on a bench where neither was ever seen to work it is looked at first."""
SCREEN_LOST = Suspects({Party.CABLE: 0.50, Party.CARD: 0.30, Party.MONITOR: 0.20})
SCREEN_TOLD = Suspects({Party.MONITOR: 0.45, Party.CABLE: 0.33, Party.CARD: 0.22})
SCREEN_MODE = Suspects({Party.CABLE: 0.50, Party.CARD: 0.32, Party.MONITOR: 0.18})
"""Picture lanes: an adapter or a long cable carries fewer modes than the screen wants."""
OUTPUTS = Suspects({Party.SET_UP: 0.45, Party.CARD: 0.35, Party.DRIVER: 0.20})
"""Outputs are counted by the firmware's list: a broken one still stands in it, and a profile made
for another model asks for more."""
OWN_CLOCK = Suspects(
    {
        Party.CARD: 0.45,
        Party.SUPPLY: 0.2,
        Party.DRIVER: 0.12,
        Party.SET_UP: 0.1,
        Party.ROOM: 0.1,
        Party.SENSOR: 0.03,
    }
)
WARM_AT_REST = Suspects(
    {
        Party.ROOM: 0.25,
        Party.CARD: 0.22,
        Party.SENSOR: 0.2,
        Party.DRIVER: 0.18,
        Party.SET_UP: 0.15,
    }
)
POWER_OVER = Suspects({Party.CARD: 0.7, Party.SENSOR: 0.3})
DIE_STANDS = Suspects({Party.SENSOR: 0.5, Party.DRIVER: 0.3, Party.CARD: 0.2})
UNREAD = Suspects({Party.DRIVER: 0.45, Party.SENSOR: 0.40, Party.CARD: 0.15})
ON_THE_WAY = Suspects({Party.ROOT_PORT: 0.8, Party.SLOT: 0.2})
"""Bridges between slot and processor that move less than the link, as the topology tells."""
DIFFERS_FROM_COUNTER = Suspects({Party.SENSOR: 0.75, Party.DRIVER: 0.2, Party.CARD: 0.05})
DRIVER_LEFT = Suspects({Party.DRIVER: 0.5, Party.CARD: 0.3, Party.SET_UP: 0.15, Party.SUPPLY: 0.05})
"""A driver that lets go of its card: by hand, by a fault of its own, or because the card failed."""
HUNG = Suspects(
    {Party.CARD: 0.5, Party.SUPPLY: 0.2, Party.DRIVER: 0.15, Party.SLOT: 0.1, Party.SET_UP: 0.05}
)
NEVER_SHOWED = Suspects(
    {Party.SUPPLY: 0.38, Party.CARD: 0.35, Party.SLOT: 0.2, Party.RISER: 0.05, Party.SET_UP: 0.02}
)
"""No card shows on the bus: a lead that was not plugged in comes before a fault of the card."""
BENCH_ONLY = Suspects({Party.SET_UP: 0.6, Party.DRIVER: 0.4})
CARDS_MISSING = Suspects({Party.SET_UP: 0.5, Party.SLOT: 0.5})
MOVED_CARD = Suspects(
    {Party.CARD: 0.52, Party.SLOT: 0.30, Party.RISER: 0.12, Party.ROOT_PORT: 0.06}
)
MOVED_PLUG = Suspects({Party.CARD: 0.5, Party.SUPPLY: 0.5})
SUPPLY_AT_PLUG = Suspects({Party.SUPPLY: 0.8, Party.CARD: 0.2})
MOVED_CABLE = Suspects({Party.CABLE: 0.5, Party.CARD: 0.4, Party.MONITOR: 0.1})
"""What comes by touch is of what was touched: a joint of the card, or its other half."""
SCREENS_TOGETHER = Suspects({Party.MONITOR: 0.5, Party.CARD: 0.3, Party.CABLE: 0.2})
"""All screens dark in one moment, and nothing else, while a card is touched: what they share, a
strip or a switch, comes first."""
CARD_ALONE = Suspects({Party.CARD: 1.0})
MODEL = Suspects({Party.CARD: 0.9, Party.SET_UP: 0.1})
"""What a profile says of a model is wrong of a sound card where it is the profile of another."""

SUSPECTS: Mapping[str, Suspects] = {
    **dict.fromkeys(("link_width_lanes", "whole_run_width_lanes"), LINK_WIDTH),
    **dict.fromkeys(("link_speed_gts", "whole_run_speed_gts"), LINK_SPEED),
    **dict.fromkeys(
        (
            "new_link_errors",
            "link_errors",
            "other_link_errors",
            "uncorrected_link_errors",
            "lanes_with_new_errors",
            "error_rate_per_lane",
            "whole_run_errors_in_traffic",
            "whole_run_errors_beside_traffic",
            "whole_run_uncorrected_errors",
        ),
        LINK_ERRORS,
    ),
    "copy_share_of_payload_limit": LINK_RATE,
    "own_power_share": OWN_POWER,
    "copy_wrong_words": COPIED_WORDS,
    **dict.fromkeys(("wrong_together", "first_wrong_together"), TOGETHER),
    **dict.fromkeys(("wrong_in_steps", "first_wrong_in_steps"), STEPPED),
    "power_share_together": OWN_POWER,
    "failed_starts": LINK_WIDTH,
    "hung_starts": HUNG,
    "whole_run_samples_gone": LEFT_THE_BUS,
    "card_kept_working": STOPPED_WORKING,
    "identity_holds": LEFT_THE_BUS,
    "gpu_temp_max_c": HEAT,
    "memory_temp_max_c": HEAT,
    "gpu_rise_k": HEAT_RISE,
    **dict.fromkeys(
        ("cooling_state", "block_to_coolant_k_per_w", "block_to_room_k_per_w"), COOLING
    ),
    "hotspot_temp_max_c": HEAT,
    "hotspot_delta_max_k": HEAT_OF_PART,
    "fan_stood_still_s": FAN,
    **dict.fromkeys(("slowed_for_heat", "whole_run_slowed_samples"), SLOWED),
    "whole_run_clock_share": CLOCKS,
    "core_clock_share_of_own": OWN_CLOCK,
    "whole_run_power_of_counter": DIFFERS_FROM_COUNTER,
    **dict.fromkeys(("power_held_w", "power_w"), POWER),
    "screen_detected": SCREEN,
    "screen_lost_times": SCREEN_LOST,
    **dict.fromkeys(("edid", "preferred_mode"), SCREEN_TOLD),
    "preferred_mode_offered": SCREEN_MODE,
    "picture_seen": SCREEN_MODE,
    "memory_clock_share": MEMORY_CLOCK,
    "outputs_found": OUTPUTS,
    **dict.fromkeys(
        (
            *("came_untouched", "came_free_end_supported", "came_edge_pressed"),
            *("first_came_untouched", "first_came_free_end_supported", "first_came_edge_pressed"),
        ),
        MOVED_CARD,
    ),
    **dict.fromkeys(("came_power_plug_moved", "first_came_power_plug_moved"), MOVED_PLUG),
    **dict.fromkeys(("came_cable_moved", "first_came_cable_moved"), MOVED_CABLE),
    **dict.fromkeys(("drop_at_plug_v", "temp_at_plug_c"), MOVED_PLUG),
    "supply_at_plug_v": SUPPLY_AT_PLUG,
    "picture_clean": SCREEN_LOST,
    **dict.fromkeys(("drop_at_joint_v", "temp_at_joint_c"), CARD_ALONE),
    "driver": BENCH_ONLY,
    "whole_run_driver": DRIVER_LEFT,
    "engine_works_this_card": BENCH_ONLY,
    "cards_found": CARDS_MISSING,
    "whole_run_kernel_log": STOPPED_WORKING,
    **dict.fromkeys(
        (
            *("failing_words", "new_memory_errors", "failing_pattern"),
            *("results_that_changed", "wrong_against_processor"),
            "class_code",
        ),
        CARD_ALONE,
    ),
    **dict.fromkeys(
        ("vendor_id", "device_id", "subsystem_id", "firmware_version", "memory_gib"), MODEL
    ),
}
"""Who could cause a reading to fail, by its name; what is not here is the card's own."""

SUSPECTS_OF_ENDS: Mapping[str, Suspects] = {
    "warm_at_rest": WARM_AT_REST,
    "power_over": POWER_OVER,
    "die_stands": DIE_STANDS,
    "unread_under_load": UNREAD,
    "card_never_showed": NEVER_SHOWED,
}
"""Who could cause the end of a load or the putting off of a stage, where no reading speaks of the
same thing: by the names of `burnin.core.evidence.ends`."""

SUSPECTS_BY_REASON: Mapping[str, Suspects] = {
    **dict.fromkeys(
        ("kernel_link_down", "kernel_bus_error", "kernel_device_lost"), LEFT_THE_BUS
    ),
    "kernel_gpu_fault": Suspects({Party.CARD: 0.6, Party.DRIVER: 0.3, Party.SUPPLY: 0.1}),
    "kernel_work_timed_out": Suspects({Party.DRIVER: 0.45, Party.CARD: 0.45, Party.SUPPLY: 0.1}),
    "kernel_driver_reset": Suspects({Party.DRIVER: 0.45, Party.CARD: 0.45, Party.SUPPLY: 0.1}),
    "kernel_iommu_fault": Suspects({Party.DRIVER: 0.5, Party.SET_UP: 0.3, Party.CARD: 0.2}),
    "kernel_found_anew": LEFT_THE_BUS,
    "display_output_gone": DRIVER_LEFT,
    "movement_came_of_screens": SCREENS_TOGETHER,
    "link_rate_on_the_way": ON_THE_WAY,
    **dict.fromkeys(("file_no_answer_from_card", "file_garbled_answer"), UNREAD),
}
"""Who could cause a failure where its reason tells more than its name: by code of the reason."""
