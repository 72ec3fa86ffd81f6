"""Whether a ramp's last step settled, and what the card's whole thermal resistance is then."""

from __future__ import annotations

import math

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
from burnin.stages.thermal_ramp.thermal_fit import StepFit, fit_step

_DIE_S = 10.0
"""The first seconds of a step are the die's own fast rise; what follows is the cooler."""
_COOLER_AT_LEAST_S = 45.0
_EXTRAPOLATE_AT_MOST_K = 8.0


def mean(points: list[tuple[float, float]]) -> float | None:
    """Mean of (time, value) points; None where there are none."""
    return sum(v for _, v in points) / len(points) if points else None


def judge_drift(
    trace: RampTrace, settings: ThermalRamp, resolution: Resolution
) -> Reading:
    """Change of the GPU's temperature over the last minute, from a straight line through it."""
    limit_k, cut = settings.steady_within_k, trace.cut
    limit = None if limit_k is None else Limit(-limit_k, limit_k)
    points = trace.last_window("gpu_temp_c")
    needed = limit_k is not None
    if cut is not None or len(points) < 3:
        few = trace.unread.get("gpu_temp_c") or ThermalRampReason.TOO_FEW_SAMPLES()
        reason = cut or few
        return not_measured("drift_k", "K", reason, limit=limit, required=needed)
    span_s = points[-1][0] - points[0][0]
    mean_t = sum(t for t, _ in points) / len(points)
    mean_v = sum(v for _, v in points) / len(points)
    spread = sum((t - mean_t) ** 2 for t, _ in points)
    slope = sum((t - mean_t) * (v - mean_v) for t, v in points) / spread
    return judge(
        "drift_k",
        slope * span_s,
        "K",
        limit,
        uncertainty=integer_code_uncertainty(resolution.temp_c),
        source=ThermalRampSource.STRAIGHT_LINE(over_s=span_s),
        required=needed,
        why_fail=ThermalRampReason.STILL_MOVING(drift_k=slope * span_s, over_s=span_s),
    )


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
    fit = _fit_last(trace, resolution)
    points = trace.last_window("gpu_temp_c")
    if not points:
        unread = trace.unread.get("gpu_temp_c")
        return NotMeasured(unread or ThermalRampReason.NO_TEMP_AT_END())
    end_c = mean(points[-max(1, len(points) // 4) :])
    assert end_c is not None
    step = trace.steps[-1]
    cooler_s = step[-1].elapsed_s - step[0].elapsed_s - _DIE_S
    if cooler_s < _COOLER_AT_LEAST_S:
        needed_s = _COOLER_AT_LEAST_S + _DIE_S
        return NotMeasured(ThermalRampReason.STEP_TOO_SHORT(needed_s=needed_s))
    drift_k = max(v for _, v in points) - min(v for _, v in points)
    if fit is None or drift_k <= 2.0 * resolution.temp_c:
        # Standing still, as far as whole codes can tell.
        return end_c, max(drift_k, resolution.temp_c) / math.sqrt(12.0)
    if abs(fit.end_c - end_c) > _EXTRAPOLATE_AT_MOST_K or fit.tau_s > 1.5 * cooler_s:
        return NotMeasured(
            ThermalRampReason.FAR_FROM_SETTLED(gpu_temp_c=end_c, heading_c=fit.end_c)
        )
    return fit.end_c, fit.end_std_c


def _fit_last(trace: RampTrace, resolution: Resolution) -> StepFit | None:
    step = trace.steps[-1]
    begin_s = step[0].elapsed_s + _DIE_S
    points = [
        (s.elapsed_s, temp)
        for s in step
        if s.elapsed_s >= begin_s and (temp := known(s.telemetry.gpu_temp_c)) is not None
    ]
    return fit_step([t for t, _ in points], [v for _, v in points], resolution.temp_c)
