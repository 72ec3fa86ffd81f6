"""Who could cause a reading to fail, in order of likelihood, and what an observation makes of it.

Likelihoods are weights of common practice at a repair bench, without a source, but where a line of
a table names one; only their order and what is ruled out (weight 0) matter.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from burnin.core.parties import Party, Sight

CONNECTOR = "fact sheet of the connector, §2, §4, §8 (signatures derived from the registers)"
PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Suspects:
    """Who could cause one kind of failure, each with its weight, and where that is from."""

    weights: Mapping[Party, float]
    source: str = PRACTICE


_WAY_TO_CARD = (Party.SLOT, Party.ROOT_PORT, Party.RISER, Party.SET_UP)

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
HEAT = Suspects({Party.CARD: 0.70, Party.ROOM: 0.15, Party.SENSOR: 0.15})
HEAT_OF_PART = Suspects({Party.CARD: 0.75, Party.SENSOR: 0.25})
FAN = Suspects({Party.CARD: 0.6, Party.SENSOR: 0.4})
SLOWED = Suspects({Party.CARD: 0.6, Party.ROOM: 0.2, Party.SENSOR: 0.12, Party.SUPPLY: 0.08})
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
    {
        Party.SUPPLY: 0.35,
        Party.CARD: 0.35,
        Party.DRIVER: 0.2,
        Party.SET_UP: 0.1,
    }
)
SCREEN = Suspects({Party.CARD: 0.40, Party.CABLE: 0.33, Party.MONITOR: 0.25, Party.DRIVER: 0.02})
SCREEN_LOST = Suspects({Party.CABLE: 0.50, Party.CARD: 0.30, Party.MONITOR: 0.20})
SCREEN_TOLD = Suspects({Party.MONITOR: 0.45, Party.CABLE: 0.33, Party.CARD: 0.22})
OUTPUTS = Suspects({Party.CARD: 0.6, Party.DRIVER: 0.4})
HUNG = Suspects(
    {Party.CARD: 0.5, Party.SUPPLY: 0.2, Party.DRIVER: 0.15, Party.SLOT: 0.1, Party.SET_UP: 0.05}
)
BENCH_ONLY = Suspects({Party.SET_UP: 0.6, Party.DRIVER: 0.4})
CARDS_MISSING = Suspects({Party.SET_UP: 0.5, Party.SLOT: 0.5})
CARD_ALONE = Suspects({Party.CARD: 1.0})

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
        ),
        LINK_ERRORS,
    ),
    "copy_share_of_payload_limit": LINK_RATE,
    "own_power_share": OWN_POWER,
    "link_errors": LINK_ERRORS,
    "copy_wrong_words": COPIED_WORDS,
    "failed_starts": LINK_WIDTH,
    "hung_starts": HUNG,
    "whole_run_samples_gone": LEFT_THE_BUS,
    "card_kept_working": STOPPED_WORKING,
    "identity_holds": LEFT_THE_BUS,
    "gpu_temp_max_c": HEAT,
    "memory_temp_max_c": HEAT,
    "gpu_rise_k": HEAT_OF_PART,
    "hotspot_temp_max_c": HEAT,
    "hotspot_delta_max_k": HEAT_OF_PART,
    "fan_stood_still_s": FAN,
    **dict.fromkeys(("slowed_for_heat", "whole_run_slowed_samples"), SLOWED),
    "whole_run_clock_share": CLOCKS,
    **dict.fromkeys(("power_held_w", "power_w"), POWER),
    "screen_detected": SCREEN,
    "screen_lost_times": SCREEN_LOST,
    **dict.fromkeys(("edid", "preferred_mode", "preferred_mode_offered"), SCREEN_TOLD),
    "outputs_found": OUTPUTS,
    "driver": BENCH_ONLY,
    "engine_works_this_card": BENCH_ONLY,
    "cards_found": CARDS_MISSING,
    "whole_run_kernel_log": STOPPED_WORKING,
    **dict.fromkeys(
        (
            *("failing_words", "new_memory_errors", "failing_pattern"),
            *("results_that_changed", "wrong_against_processor"),
            *("vendor_id", "device_id", "subsystem_id", "class_code", "memory_gib"),
            "firmware_version",
        ),
        CARD_ALONE,
    ),
}
"""Who could cause a reading to fail, by its name; what is not here is the card's own."""

SUSPECTS_BY_REASON: Mapping[str, Suspects] = {
    **dict.fromkeys(
        ("kernel_link_down", "kernel_bus_error", "kernel_device_lost"), LEFT_THE_BUS
    ),
    "kernel_gpu_fault": Suspects({Party.CARD: 0.6, Party.DRIVER: 0.3, Party.SUPPLY: 0.1}),
    "kernel_driver_reset": Suspects({Party.DRIVER: 0.45, Party.CARD: 0.45, Party.SUPPLY: 0.1}),
    "kernel_iommu_fault": Suspects({Party.DRIVER: 0.5, Party.SET_UP: 0.3, Party.CARD: 0.2}),
}
"""Who could cause a failure where its reason tells more than its name: by code of the reason."""

WEIGHS: Mapping[Sight, Mapping[Party, float]] = {
    Sight.SLOT_PROVEN: dict.fromkeys(_WAY_TO_CARD, 0.0),
    Sight.OUTPUT_PROVEN: dict.fromkeys((Party.MONITOR, Party.CABLE), 0.0),
    Sight.SUPPLY_PROVEN: {Party.SUPPLY: 0.0},
    Sight.DRIVER_PROVEN: {Party.DRIVER: 0.0},
    Sight.HELD_BY_PORT: {Party.SET_UP: 50.0},
    Sight.LOWERED_BY_SYSTEM: {Party.SET_UP: 8.0, Party.CARD: 0.5},
    Sight.LOW_FROM_THE_START: {Party.SET_UP: 1.5, Party.SLOT: 1.2},
    Sight.FULL_BEFORE: {Party.SET_UP: 0.0, Party.CARD: 1.4},
    Sight.WARM_ONLY: {Party.CARD: 1.5, Party.RISER: 0.4, Party.ROOT_PORT: 0.5},
    Sight.ERRORS_AT_BOTH_ENDS: {Party.RISER: 5.0, Party.ROOT_PORT: 1.5, Party.SET_UP: 0.2},
    Sight.ERRORS_AT_CARD: {Party.CARD: 1.2, Party.SLOT: 1.2, Party.SET_UP: 0.2},
    Sight.ERRORS_AT_PORT: {Party.CARD: 1.6, Party.SLOT: 1.1, Party.SET_UP: 0.2},
    Sight.ONE_LANE: {Party.CARD: 2.0, Party.SLOT: 1.5, Party.RISER: 0.4, Party.ROOT_PORT: 0.4},
    Sight.MANY_LANES: {Party.RISER: 6.0, Party.ROOT_PORT: 2.0, Party.CARD: 0.5, Party.SLOT: 0.4},
    Sight.NO_ERRORS: {Party.SET_UP: 3.0, Party.RISER: 0.6},
    Sight.CLEAN_BUT_SLOW: {Party.RISER: 2.5, Party.SET_UP: 1.2},
    Sight.SENSORS_AGREE: {Party.SENSOR: 0.0},
    Sight.SENSOR_OFF_AT_REST: {Party.SENSOR: 30.0, Party.ROOM: 0.2},
    Sight.ROOM_TOO_LITTLE: {Party.ROOM: 0.0},
    Sight.ROOM_WARM: {Party.ROOM: 10.0},
    Sight.HEAT_FOLLOWED: {Party.SENSOR: 0.0},
    Sight.STAYED_COOL: {Party.SENSOR: 4.0},
    Sight.STILL_ON_THE_BUS: {
        Party.DRIVER: 4.0,
        **dict.fromkeys((Party.SUPPLY, Party.SLOT, Party.RISER, Party.ROOT_PORT), 0.0),
    },
    Sight.GONE_FROM_THE_BUS: {Party.DRIVER: 0.0},
    Sight.ALL_SCREENS_DARK: {Party.DRIVER: 30.0, Party.CARD: 1.5},
    Sight.OTHER_SCREENS_GOOD: {Party.DRIVER: 0.0},
    Sight.FULL_WIDTH_CARRIED: {Party.CARD: 0.0},
    Sight.BRAKE_FROM_OUTSIDE: {Party.SUPPLY: 20.0},
}
"""By what an observation multiplies a party's weight; 0 rules it out."""
