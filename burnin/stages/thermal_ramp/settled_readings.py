"""Whether a ramp's last step settled, and what the card's whole thermal resistance is then."""

from __future__ import annotations

import math
from collections.abc import Iterator

from burnin.core.decision import USUAL_SENSORS, SensorAccuracy
from burnin.core.meaning import Reason
from burnin.core.reading import (
    Limit,
    NotMeasured,
    Reading,
    integer_code_uncertainty,
    judge,
    known,
    not_measured,
)
from burnin.core.sample import Resolution
from burnin.stages.thermal_ramp.meanings import ThermalRampReason, ThermalRampSource
from burnin.stages.thermal_ramp.ramp_trace import RampTrace
from burnin.stages.thermal_ramp.settings import ThermalRamp
from burnin.stages.thermal_ramp.tail import Tail, tail_of

_DIE_S = 10.0
"""The first seconds of a step are the die's own fast rise; what follows is the cooler."""
_COOLER_AT_LEAST_S = 45.0
_LOOKED_AT_LEAST_S = 30.0
"""Of a step after its first seconds, so that what is still to come can be told (recordings)."""
DRIFT, LEFT = "drift_k", "left_to_rise_k"


def mean(points: list[tuple[float, float]]) -> float | None:
    """Mean of (time, value) points; None where there are none."""
    return sum(v for _, v in points) / len(points) if points else None


def judge_steady(
    trace: RampTrace, settings: ThermalRamp, resolution: Resolution
) -> Iterator[Reading]:
    """How far the last step ended from rest, and the change of its last minute beside it.

    What falls is at rest: the room's air is moved faster. The rise still to come has the
    uncertainty of tail.py.
    """
    limit_k, cut = settings.steady_within_k, trace.cut
    limit = None if limit_k is None else Limit(upper=limit_k)
    needed = limit_k is not None
    window = trace.last_window("gpu_temp_c")
    tail = _tail(trace, resolution)
    if cut is not None or tail is None:
        why = cut or _why_no_tail(trace)
        yield not_measured(DRIFT, "K", why, required=False)
        yield not_measured(LEFT, "K", why, limit=limit, required=needed)
        return
    over_s = window[-1][0] - window[0][0]
    drift_k = tail.per_minute_k * over_s / 60.0
    yield judge(
        DRIFT,
        drift_k,
        "K",
        None,
        uncertainty=integer_code_uncertainty(resolution.temp_c),
        source=ThermalRampSource.STRAIGHT_LINE(over_s=over_s),
        required=False,
    )
    if tail.left_k is None:
        moving = ThermalRampReason.STILL_MOVING(drift_k=drift_k, over_s=over_s)
        yield not_measured(LEFT, "K", moving, limit=limit, required=needed)
        return
    yield judge(
        LEFT,
        tail.left_k,
        "K",
        limit,
        uncertainty=tail.left_u_k,
        source=ThermalRampSource.STEP_RESPONSE(),
        required=needed,
        why_fail=ThermalRampReason.STILL_MOVING(drift_k=drift_k, over_s=over_s),
    )


def _tail(trace: RampTrace, resolution: Resolution) -> Tail | None:
    """The tail of the last step, its first seconds left out; None where it is too short."""
    points = _cooler_points(trace)
    window = trace.last_window("gpu_temp_c")
    if not points or not window or points[-1][0] - points[0][0] < _LOOKED_AT_LEAST_S:
        return None
    return tail_of(points, window[-1][0] - window[0][0], resolution.temp_c)


def _why_no_tail(trace: RampTrace) -> Reason:
    """Why a step has no tail: no temperature, or too short."""
    unread = trace.unread.get("gpu_temp_c")
    if unread is not None:
        return unread
    step = trace.steps[-1] if trace.steps else []
    if step and step[-1].elapsed_s - step[0].elapsed_s < _DIE_S + _LOOKED_AT_LEAST_S:
        return ThermalRampReason.STEP_TOO_SHORT(needed_s=_DIE_S + _LOOKED_AT_LEAST_S)
    return ThermalRampReason.TOO_FEW_SAMPLES()


def judge_resistance(
    trace: RampTrace,
    settings: ThermalRamp,
    resolution: Resolution,
    accuracy: SensorAccuracy = USUAL_SENSORS,
) -> Reading:
    """(settled temperature - idle temperature) / (power - idle power), in K/W."""
    limit_value = settings.thermal_resistance_at_most_k_per_w
    limit = None if limit_value is None else Limit(upper=limit_value)
    needed = limit is not None
    name, unit = "thermal_resistance_k_per_w", "K/W"
    power, start_c, idle_w = (
        mean(trace.last_window("power_w")),
        trace.start_temp_c,
        trace.idle_power_w,
    )

    def missing(reason: Reason) -> Reading:
        return not_measured(name, unit, reason, limit=limit, required=needed)

    if power is None or start_c is None or idle_w is None:
        return missing(
            ThermalRampReason.NO_TEMP_OR_POWER(reason=trace.why_unread("power_w", "gpu_temp_c"))
        )
    if trace.cut is not None:
        return missing(trace.cut)
    gained_w = power - idle_w
    if gained_w < 5.0:
        return missing(ThermalRampReason.LITTLE_POWER(rise_w=gained_w))
    settled = _settled(trace, resolution)
    if isinstance(settled, NotMeasured):
        return missing(settled.reason)
    end_c, end_std_c = settled
    value = (end_c - start_c) / gained_w
    code_std_c = resolution.temp_c / math.sqrt(12.0)
    temp_std_k = math.hypot(end_std_c, code_std_c)
    uncertainty = math.hypot(2.0 * temp_std_k / gained_w, accuracy.power_u_share * value)
    return judge(
        name,
        value,
        unit,
        limit,
        uncertainty=uncertainty,
        source=ThermalRampSource.SETTLED_RISE(),
        required=needed,
    )


def _settled(trace: RampTrace, resolution: Resolution) -> tuple[float, float] | NotMeasured:
    """Temperature at which the last step settles, with its standard error."""
    window = trace.last_window("gpu_temp_c")
    if not window:
        unread = trace.unread.get("gpu_temp_c")
        return NotMeasured(unread or ThermalRampReason.NO_TEMP_AT_END())
    step = trace.steps[-1]
    if step[-1].elapsed_s - step[0].elapsed_s - _DIE_S < _COOLER_AT_LEAST_S:
        needed_s = _COOLER_AT_LEAST_S + _DIE_S
        return NotMeasured(ThermalRampReason.STEP_TOO_SHORT(needed_s=needed_s))
    tail = _tail(trace, resolution)
    if tail is None:
        return NotMeasured(ThermalRampReason.TOO_FEW_SAMPLES())
    if tail.left_k is None:
        over_s = window[-1][0] - window[0][0]
        drift_k = tail.per_minute_k * over_s / 60.0
        return NotMeasured(ThermalRampReason.STILL_MOVING(drift_k=drift_k, over_s=over_s))
    # Air that is moved faster meanwhile makes the same rise smaller: the fall counts as unsure.
    range_k = max(v for _, v in window) - min(v for _, v in window)
    spread_k = max(range_k, resolution.temp_c) / math.sqrt(12.0)
    return tail.now_c + tail.left_k, max(tail.left_u_k / 2.0, spread_k)


def _cooler_points(trace: RampTrace) -> list[tuple[float, float]]:
    """(elapsed_s, °C) of the last step without the die's own fast rise."""
    step = trace.steps[-1] if trace.steps else []
    begin_s = step[0].elapsed_s + _DIE_S if step else 0.0
    return [
        (s.elapsed_s, temp)
        for s in step
        if s.elapsed_s >= begin_s and (temp := known(s.telemetry.gpu_temp_c)) is not None
    ]
