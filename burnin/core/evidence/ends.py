"""A load that was ended and a stage that was put off, as readings whose parties can be weighed.

What a guard saw is what a reading of the same thing would tell: the die near its limit is laid to
whom a die above it is laid to.
"""

from __future__ import annotations

from collections.abc import Mapping

from burnin.core.meaning import Meaning, Reason
from burnin.core.reading import Reading, Verdict

_BY_SIGNAL: Mapping[str, str] = {
    "guard_gpu": "gpu_temp_max_c",
    "guard_hot_spot": "hotspot_temp_max_c",
    "guard_memory": "memory_temp_max_c",
    "guard_power": "power_over",
}
_BY_REASON: Mapping[str, str] = {
    "guard_card_gone": "whole_run_samples_gone",
    "guard_hot_spot_over_gpu": "hotspot_delta_max_k",
    "guard_power_over": "power_over",
    "guard_no_answer_to_power": "die_stands",
    "guard_rises_too_fast": "gpu_rise_k",
    "guard_slowed_for_heat": "slowed_for_heat",
    "guard_slowed_for_heat_at": "slowed_for_heat",
    "guard_temperature_unread": "unread_under_load",
    "guard_blind": "unread_under_load",
    "guard_sensors_hang": "unread_under_load",
    "guard_nothing_moves": "unread_under_load",
    "run_still_warm": "warm_at_rest",
}
_NEAR_A_LIMIT = ("guard_near_limit", "guard_plan_crosses", "guard_held_power_crosses")


def as_reading(stage: str, reasons: tuple[Reason, ...]) -> Reading | None:
    """What ended or put off a stage as a failed reading; None where it says nothing of parties.

    A stage that was not reached for the same reason is not told again: its reason only holds it.
    """
    for reason in reasons:
        told = reason["reason"] if reason.code == "run_tripped_after_failures" else reason
        name = _name(told) if isinstance(told, Meaning) else None
        if name is not None:
            return Reading(name, None, "", verdict=Verdict.FAIL, stage=stage)
    return None


def _name(told: Meaning) -> str | None:
    if told.code not in _NEAR_A_LIMIT:
        return _BY_REASON.get(told.code)
    signal = told["signal"]
    return _BY_SIGNAL.get(signal.code) if isinstance(signal, Meaning) else None
