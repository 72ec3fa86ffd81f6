"""Every fan of a card by itself: a fan that is asked to turn must turn."""

from __future__ import annotations

from collections.abc import Iterator

from burnin.core.decision import spread
from burnin.core.meaning import Reason
from burnin.core.reading import Limit, NotMeasured, Reading, judge
from burnin.stages.thermal_ramp.meanings import ThermalRampReason
from burnin.stages.thermal_ramp.ramp_trace import RampTrace

STARTS_WITHIN_S = 6.0
"""Starting takes a fan a few seconds."""


def fan_readings(trace: RampTrace, fan_count: int | NotMeasured) -> Iterator[Reading]:
    """How many fans the card counts, and of each how long it stood still.

    A fan that the card counts and nobody can read is named. Where its neighbours can be read it is
    needed: a sheet must not pass over one fan of three.
    """
    yield judge("fan_count", fan_count, "", None, required=False)
    counted = 1 if isinstance(fan_count, NotMeasured) else fan_count
    told = trace.fans.told_count
    for number in range(1, max(1, counted, told) + 1):
        yield _fan(trace, number, needed=told > 0 and not isinstance(fan_count, NotMeasured))


def _fan(trace: RampTrace, number: int, *, needed: bool) -> Reading:
    stood_s = trace.fans.stood_s(number)
    every_s = trace.sample_every_s
    return judge(
        "fan_stood_still_s" if number == 1 else f"fan_stood_still_s {number}",
        _unread(trace, number) if stood_s is None else stood_s,
        "s",
        Limit(upper=STARTS_WITHIN_S),
        uncertainty=spread((every_s, every_s)).uncertainty,
        required=needed and stood_s is None,
        why_fail=_why(number, stood_s or 0.0),
    )


def _why(number: int, stood_s: float) -> Reason:
    if number == 1:
        return ThermalRampReason.FAN_STOOD(stood_s=stood_s)
    return ThermalRampReason.FAN_OF_SEVERAL_STOOD(fan=number, stood_s=stood_s)


def _unread(trace: RampTrace, number: int) -> NotMeasured:
    if number == 1:
        reason = trace.why_unread("fan_rpm", "fan_pct")
        return NotMeasured(ThermalRampReason.NO_FAN_SPEED(reason=reason))
    unread = trace.fans.why_unread(number)
    reason = ThermalRampReason.NO_SUCH_SENSOR() if unread is None else unread.reason
    return NotMeasured(ThermalRampReason.FAN_UNREAD(fan=number, reason=reason))
