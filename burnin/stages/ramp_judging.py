"""What a thermal ramp's trace says: every reading, also of a ramp that was cut short."""

from __future__ import annotations

import math

from burnin.profile import RampStep, ThermalRamp
from burnin.reading import (
    Limit,
    NotMeasured,
    Reading,
    integer_code_uncertainty,
    judge,
    judge_text,
    known,
    not_measured,
)
from burnin.sample import Resolution, Sample
from burnin.stages.ramp_trace import RATE_WINDOW_S, RampTrace
from burnin.stages.thermal_fit import StepFit, fit_step

_DIE_S = 10.0
"""The first seconds of a step are the die's own fast rise; what follows is the cooler."""
_COOLER_AT_LEAST_S = 45.0
_EXTRAPOLATE_AT_MOST_K = 8.0
_SETTLING_S = 5.0
_FAN_STARTS_WITHIN_S = 6.0
POWER_SENSOR_SHARE = 0.05
"""Assumed expanded uncertainty of a board power sensor; common practice, no source: ±5 %."""


def judge_trace(
    trace: RampTrace, settings: ThermalRamp, resolution: Resolution, ended_by_plan: bool
) -> list[Reading]:
    """Every reading that a ramp gives, from what it has seen so far."""
    code_c = integer_code_uncertainty(resolution.temp_c)
    why = "the card shows no such sensor"
    readings = []
    for name, signal, unit, limit_value, uncertainty in (
        ("gpu_temp_max_c", "gpu_temp_c", "°C", settings.gpu_temp_at_most_c, code_c),
        ("hotspot_temp_max_c", "hotspot_temp_c", "°C", settings.hotspot_temp_at_most_c, code_c),
        ("memory_temp_max_c", "memory_temp_c", "°C", settings.memory_temp_at_most_c, code_c),
        (
            "hotspot_delta_max_k",
            "hotspot_delta_k",
            "K",
            settings.hotspot_delta_at_most_k,
            code_c * math.sqrt(2.0),
        ),
    ):
        value = trace.peaks.get(signal)
        readings.append(
            judge(
                name,
                NotMeasured(why) if value is None else value,
                unit,
                _at_most(limit_value),
                uncertainty=uncertainty,
                required=limit_value is not None,
            )
        )
    peak_c = trace.peaks.get("gpu_temp_c")
    rise_k: float | NotMeasured = NotMeasured(why)
    if peak_c is not None and trace.start_temp_c is not None:
        rise_k = peak_c - trace.start_temp_c
    readings.append(
        judge(
            "gpu_rise_k",
            rise_k,
            "K",
            _at_most(settings.rise_at_most_k),
            uncertainty=code_c * math.sqrt(2.0),
            required=settings.rise_at_most_k is not None,
        )
    )
    rate = trace.peak_rate_k_per_s
    readings.append(
        judge(
            "gpu_rate_max_k_per_s",
            NotMeasured(why) if rate is None else rate,
            "K/s",
            _at_most(settings.rate_at_most_k_per_s),
            uncertainty=code_c * math.sqrt(2.0) / RATE_WINDOW_S,
            required=settings.rate_at_most_k_per_s is not None,
        )
    )
    readings.append(_judge_fan(trace))
    readings.extend(_judge_held(trace, settings))
    readings.extend(_judge_end(trace, settings, resolution, ended_by_plan))
    return readings


def _judge_fan(trace: RampTrace) -> Reading:
    """A fan that is asked to turn must turn; starting takes it a few seconds."""
    stood_s = trace.fan_stood_s
    return judge(
        "fan_stood_still_s",
        NotMeasured("the card tells no fan speed") if stood_s is None else stood_s,
        "s",
        Limit(upper=_FAN_STARTS_WITHIN_S),
        required=False,
        why_fail=f"a fan stood still for {stood_s or 0.0:.0f} s although it was asked to turn",
    )


def _judge_held(trace: RampTrace, settings: ThermalRamp) -> list[Reading]:
    """Mean power of every step that was held in watts, after rise and settling."""
    readings = []
    for number, step in enumerate(settings.steps, start=1):
        if step.power_w is None:
            continue
        name = f"power_held_w step {number}"
        asked_w, share = step.power_w, settings.power_within_share
        limit = Limit(asked_w * (1.0 - share), asked_w * (1.0 + share))
        if number > trace.steps_completed:
            readings.append(not_measured(name, "W", _CUT, limit=limit))
            continue
        found = _held(trace.steps[number - 1], step, settings.power_rise_w_per_s)
        if isinstance(found, NotMeasured):
            readings.append(not_measured(name, "W", found.reason, limit=limit))
            continue
        power_w, source, share_used = found
        if limit.lower is not None and power_w < limit.lower and share_used > 0.99:
            reason = f"full work reaches {power_w:.0f} W of the {asked_w:.0f} W asked for"
            readings.append(not_measured(name, "W", reason, limit=limit))
            continue
        readings.append(judge(name, power_w, "W", limit, source=source))
    return readings


def _held(
    samples: list[Sample], step: RampStep, rise_w_per_s: float
) -> tuple[float, str, float] | NotMeasured:
    """Mean power, where it is from, and the mean share of work over the settled samples."""
    assert step.power_w is not None
    settle_s = step.power_w / rise_w_per_s + _SETTLING_S
    begin_s = samples[0].elapsed_s + settle_s if samples else 0.0
    settled = [s for s in samples if s.elapsed_s >= begin_s]
    if len(settled) < 3:
        return NotMeasured(f"a step of {step.hold_s:g} s has no time after settling")
    share = sum(s.load_share for s in settled) / len(settled)
    first, last = settled[0], settled[-1]
    begin_j, end_j = known(first.telemetry.energy_j), known(last.telemetry.energy_j)
    passed_s = last.elapsed_s - first.elapsed_s
    if begin_j is not None and end_j is not None and end_j > begin_j:
        return (end_j - begin_j) / passed_s, f"energy counter over {passed_s:.0f} s", share
    powers = [p for s in settled if (p := known(s.telemetry.power_w)) is not None]
    if not powers:
        return NotMeasured("the card shows no power: a load share was held instead")
    return sum(powers) / len(powers), f"power sensor over {passed_s:.0f} s", share


def _at_most(value: float | None) -> Limit | None:
    return None if value is None else Limit(upper=value)


def _judge_end(
    trace: RampTrace, settings: ThermalRamp, resolution: Resolution, ended_by_plan: bool
) -> list[Reading]:
    """Power, steadiness and thermal resistance: they need the last step to have run."""
    whole = trace.steps_completed == len(settings.steps)
    cut = _SPENT if ended_by_plan else "" if whole else _CUT
    power = _mean(trace.last_window("power_w"))
    watts: float | NotMeasured
    if not whole and not ended_by_plan:
        watts = NotMeasured(_CUT)
    else:
        watts = NotMeasured("the card shows no power sensor") if power is None else power
    floor = settings.power_at_least_w
    told = 0.0 if power is None else POWER_SENSOR_SHARE * power
    readings = [
        judge(
            "power_w",
            watts,
            "W",
            None if floor is None else Limit(lower=floor),
            uncertainty=told,
            source="mean over the end of the last step",
            required=floor is not None,
        ),
        judge("heat_given_j", trace.energy_j, "J", None, required=False)
        if trace.idle_power_w is not None
        else not_measured(
            "heat_given_j", "J", "the card shows no power sensor", required=False
        ),
        _drift(trace, settings, resolution, cut),
        _resistance(trace, settings, resolution, cut),
    ]
    slowed: str | NotMeasured = NotMeasured("the card does not tell why it slows itself down")
    if trace.throttled is not None:
        slowed = "yes" if trace.throttled else "no"
    readings.append(
        judge_text(
            "slowed_for_heat",
            slowed,
            ("no",),
            required=False,
            why_fail="the card slowed itself down for heat",
        )
    )
    return readings


def _mean(points: list[tuple[float, float]]) -> float | None:
    return sum(v for _, v in points) / len(points) if points else None


_SPENT = "the heat budget was spent, as planned, before the card could settle"
_CUT = "the ramp ended before its last step had run its time"


def _drift(
    trace: RampTrace, settings: ThermalRamp, resolution: Resolution, cut: str
) -> Reading:
    """Change of the GPU's temperature over the last minute, from a straight line through it."""
    limit_k = settings.steady_within_k
    limit = None if limit_k is None else Limit(-limit_k, limit_k)
    points = trace.last_window("gpu_temp_c")
    needed = limit_k is not None
    if cut or len(points) < 3:
        reason = cut or "too few samples at the end of the last step"
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
        source=f"straight line through the last {span_s:.0f} s",
        required=needed,
        why_fail=f"still moving by {slope * span_s:.1f} K over the last {span_s:.0f} s",
    )


def _resistance(
    trace: RampTrace, settings: ThermalRamp, resolution: Resolution, cut: str
) -> Reading:
    """(settled temperature - idle temperature) / (power - idle power), in K/W."""
    limit_value = settings.thermal_resistance_at_most_k_per_w
    limit, needed = _at_most(limit_value), limit_value is not None
    name, unit = "thermal_resistance_k_per_w", "K/W"
    power, start_c, idle_w = (
        _mean(trace.last_window("power_w")),
        trace.start_temp_c,
        trace.idle_power_w,
    )
    if power is None or start_c is None or idle_w is None:
        reason = "the card shows no temperature or no power"
        return not_measured(name, unit, reason, limit=limit, required=needed)
    if cut:
        return not_measured(name, unit, cut, limit=limit, required=needed)
    gained_w = power - idle_w
    if gained_w < 5.0:
        reason = f"the load raised the power by {gained_w:.1f} W only"
        return not_measured(name, unit, reason, limit=limit, required=needed)
    settled = _settled(trace, resolution)
    if isinstance(settled, NotMeasured):
        return not_measured(name, unit, settled.reason, limit=limit, required=needed)
    end_c, end_std_c = settled
    value = (end_c - start_c) / gained_w
    code_std_c = resolution.temp_c / math.sqrt(12.0)
    temp_std_k = math.hypot(end_std_c, code_std_c)
    uncertainty = math.hypot(2.0 * temp_std_k / gained_w, POWER_SENSOR_SHARE * value)
    return judge(
        name,
        value,
        unit,
        limit,
        uncertainty=uncertainty,
        source="settled rise over idle, divided by power over idle",
        required=needed,
    )


def _settled(trace: RampTrace, resolution: Resolution) -> tuple[float, float] | NotMeasured:
    """Temperature at which the last step settles, with its standard error."""
    fit = _fit_last(trace, resolution)
    points = trace.last_window("gpu_temp_c")
    if not points:
        return NotMeasured("no temperature at the end of the last step")
    end_c = _mean(points[-max(1, len(points) // 4) :])
    assert end_c is not None
    step = trace.steps[-1]
    cooler_s = step[-1].elapsed_s - step[0].elapsed_s - _DIE_S
    if cooler_s < _COOLER_AT_LEAST_S:
        needed_s = _COOLER_AT_LEAST_S + _DIE_S
        return NotMeasured(f"the last step is shorter than {needed_s:.0f} s: nothing settled")
    drift_k = max(v for _, v in points) - min(v for _, v in points)
    if fit is None or drift_k <= 2.0 * resolution.temp_c:
        # Standing still, as far as whole codes can tell.
        return end_c, max(drift_k, resolution.temp_c) / math.sqrt(12.0)
    if abs(fit.end_c - end_c) > _EXTRAPOLATE_AT_MOST_K or fit.tau_s > 1.5 * cooler_s:
        return NotMeasured(
            f"far from settled: at {end_c:.0f} °C, heading for {fit.end_c:.0f} °C"
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
