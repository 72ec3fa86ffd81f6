"""What this room can mean: why a load was ended, what is suspected, what to look at, what is near.

Data named `signal` hold a `GuardTerm`, `cooling` terms of `burnin.thermal.meanings.CoolingTerm`.
"""

from __future__ import annotations

from burnin.core.meaning import CauseCode, CheckCode, NoteCode, ReasonCode, TermCode


class GuardReason(ReasonCode):
    """What was seen and what was allowed."""

    CARD_GONE = "guard_card_gone"
    NO_SAMPLE = "guard_no_sample", "gap_s", "allowed_s"
    SENSORS_HANG = "guard_sensors_hang", "because"
    STOPPED_BY_SIGNAL = "guard_stopped_by_signal", "signal"
    TEMPERATURE_UNREAD = "guard_temperature_unread", "age_s", "allowed_s", "because"
    BLIND = "guard_blind", "signal", "blind_s", "allowed_s", "because"
    NOTHING_MOVES = "guard_nothing_moves", "age_s", "allowed_s"
    NO_ANSWER_TO_POWER = (
        "guard_no_answer_to_power", "gpu_temp_c", "waited_s", "rise_w", "allowed_s",
    )  # fmt: skip
    NEAR_LIMIT = "guard_near_limit", "signal", "temp_c", "rise_k_per_s", "margin_k", "limit_c"
    RISES_TOO_FAST = "guard_rises_too_fast", "rise_k_per_s", "over_s", "limit_k_per_s"
    HOT_SPOT_OVER_GPU = "guard_hot_spot_over_gpu", "over_k", "for_s", "limit_k"
    POWER_OVER = "guard_power_over", "power_w", "for_s", "limit_w"
    SLOWED_FOR_HEAT = "guard_slowed_for_heat"
    SLOWED_FOR_HEAT_AT = "guard_slowed_for_heat_at", "gpu_temp_c"
    PLAN_CROSSES = (
        "guard_plan_crosses", "gpu_temp_c", "power_w", "signal", "limit_c", "when", "sure_pct",
        "cooling",
    )  # fmt: skip
    HELD_POWER_CROSSES = (
        "guard_held_power_crosses", "gpu_temp_c", "power_w", "signal", "limit_c", "when",
        "sure_pct", "cooling",
    )  # fmt: skip
    STOPPED_BY_HAND = "guard_stopped_by_hand"


class GuardCause(CauseCode):
    """The part that is suspected, where no model of the cooling names one."""

    CARD_OR_SUPPLY = "guard_cause_card_or_supply"
    DRIVER_OR_SENSOR = "guard_cause_driver_or_sensor"
    SENSOR = "guard_cause_sensor"
    COOLING = "guard_cause_cooling"
    COOLING_OR_MOUNT = "guard_cause_cooling_or_mount"
    CONTACT = "guard_cause_contact"
    HOT_SPOT_MOUNT = "guard_cause_hot_spot_mount"
    SUPPLY_STAGE = "guard_cause_supply_stage"


class GuardCheck(CheckCode):
    """What the technician should look at."""

    EDGE_AND_PLUGS = "guard_check_edge_and_plugs"
    DRIVER = "guard_check_driver"
    READ_AGAIN = "guard_check_read_again"
    COOLING = "guard_check_cooling"
    MOUNT = "guard_check_mount"
    PASTE_PRINT = "guard_check_paste_print"
    SUPPLIES = "guard_check_supplies"


class GuardNote(NoteCode):
    """What is expected of a limit, under way."""

    NOT_NEARING = "guard_not_nearing", "signal", "room_k"
    NEARING = "guard_nearing", "signal", "room_k", "crossing_in_s"
    PEAK_EXPECTED = "guard_peak_expected", "peak_c", "cooling"
    CROSSING_EXPECTED = "guard_crossing_expected", "limit_c", "crossing_in_s", "sure_pct", "cooling"
    FORESEEN = "guard_foreseen", "ahead_s", "value_c", "low_c", "high_c"
    FORECASTS_KEPT = "guard_forecasts_kept", "ahead_s", "judged_count", "inside_pct", "mean_miss_k"
    WARNS = "guard_warns", "signal", "limit_c", "crossing_in_s", "sure_pct", "cause"
    WARNING_LESS_LIKELY = "guard_warning_less_likely", "stood_s"
    WARNING_LOAD_OFF = "guard_warning_load_off", "stood_s"


class GuardTerm(TermCode):
    """Names of what has a limit, and of when it would be crossed."""

    GPU = "guard_gpu"
    HOT_SPOT = "guard_hot_spot"
    MEMORY = "guard_memory"
    POWER = "guard_power"
    SLOWDOWN = "guard_slowdown"
    FAN = "guard_fan"
    WITHIN_SECONDS = "guard_within_seconds", "crossing_in_s"
    IN_ABOUT = "guard_in_about", "crossing_in_s"


SIGNAL_TERMS = {
    "gpu_temp_c": GuardTerm.GPU,
    "hotspot_temp_c": GuardTerm.HOT_SPOT,
    "memory_temp_c": GuardTerm.MEMORY,
    "power_w": GuardTerm.POWER,
    "throttle_reasons": GuardTerm.SLOWDOWN,
    "fan_rpm": GuardTerm.FAN,
}
"""The name of each signal that a guard watches."""
