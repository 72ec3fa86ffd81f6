"""What a thermal ramp's trace says: every reading, also of a ramp that was cut short."""

from __future__ import annotations

import math

from burnin.core.decision import USUAL_SENSORS, SensorAccuracy, Spread, spread
from burnin.core.meaning import Reason, Source
from burnin.core.reading import (
    Limit,
    NotMeasured,
    Reading,
    judge,
    judge_text,
    known,
    not_measured,
)
from burnin.core.sample import Resolution
from burnin.stages.thermal_ramp.fan_readings import fan_readings
from burnin.stages.thermal_ramp.held_power_readings import judge_held
from burnin.stages.thermal_ramp.meanings import ThermalRampReason, ThermalRampSource
from burnin.stages.thermal_ramp.ramp_trace import RATE_WINDOW_S, RampTrace
from burnin.stages.thermal_ramp.settings import ThermalRamp
from burnin.stages.thermal_ramp.settled_readings import (
    judge_resistance,
    judge_steady,
    mean,
)
from burnin.thermal.states import CANNOT_TELL, CoolingState, term_of

NOT_COUNTED = NotMeasured(ThermalRampReason.NO_SUCH_SENSOR())


def judge_trace(
    trace: RampTrace,
    settings: ThermalRamp,
    resolution: Resolution,
    cooling: CoolingState = CANNOT_TELL,
    accuracy: SensorAccuracy = USUAL_SENSORS,
    fan_count: int | NotMeasured = NOT_COUNTED,
) -> list[Reading]:
    """Every reading that a ramp's samples give so far; `cooling` is the state that it is in.

    `fan_count`: how many fans the card says that it has.
    """
    step_c = resolution.temp_c
    one, add_k = accuracy.of_temperature(step_c), accuracy.temp_add_k
    # Two sensors may be wrong in opposite ways; one sensor's own error falls out of its change.
    two = spread((step_c, step_c), math.sqrt(2.0) * accuracy.temp_within_k)
    change = spread((step_c, step_c))
    readings = []
    gpu = NotMeasured(trace.why_unread("gpu_temp_c"))
    for name, signal, unit, limit_value, told, add in (
        ("gpu_temp_max_c", "gpu_temp_c", "°C", settings.gpu_temp_at_most_c, one, add_k),
        ("hotspot_temp_max_c", "hotspot_temp_c", "°C", settings.hotspot_temp_at_most_c, one, add_k),
        ("memory_temp_max_c", "memory_temp_c", "°C", settings.memory_temp_at_most_c, one, add_k),
        ("hotspot_delta_max_k", "hotspot_delta_k", "K", settings.hotspot_delta_at_most_k, two, 0.0),
    ):
        value = trace.peaks.get(signal)
        told_by = ("hotspot_temp_c", "gpu_temp_c") if signal == "hotspot_delta_k" else (signal,)
        unread = NotMeasured(trace.why_unread(*told_by))
        readings.append(
            judge(
                name,
                unread if value is None else value + add,
                unit,
                _at_most(limit_value),
                uncertainty=told.uncertainty,
                form=told.form,
                source=_stated(accuracy.temp_source),
                required=limit_value is not None,
            )
        )
    peak_c = trace.peaks.get("gpu_temp_c")
    rise_k: float | NotMeasured = gpu
    if peak_c is not None and trace.start_temp_c is not None:
        rise_k = peak_c - trace.start_temp_c
    readings.append(
        judge(
            "gpu_rise_k",
            rise_k,
            "K",
            _at_most(settings.rise_at_most_k),
            uncertainty=change.uncertainty,
            required=settings.rise_at_most_k is not None,
        )
    )
    rate = trace.peak_rate_k_per_s
    readings.append(
        judge(
            "gpu_rate_max_k_per_s",
            gpu if rate is None else rate,
            "K/s",
            _at_most(settings.rate_at_most_k_per_s),
            uncertainty=change.uncertainty / RATE_WINDOW_S,
            required=settings.rate_at_most_k_per_s is not None,
        )
    )
    readings.extend(fan_readings(trace, fan_count))
    readings.extend(judge_held(trace, settings, resolution))
    readings.extend(_judge_end(trace, settings, resolution, accuracy))
    readings.append(_slowed(trace, cooling))
    return readings


def _no_power(trace: RampTrace) -> Reason:
    return ThermalRampReason.NO_POWER_SENSOR(reason=trace.why_unread("power_w"))


def _at_most(value: float | None) -> Limit | None:
    return None if value is None else Limit(upper=value)


def _stated(where: str) -> Source | None:
    """Where the accuracy of a sensor is stated, if it is."""
    return ThermalRampSource.ACCURACY_STATED(where=where) if where else None


def _judge_end(
    trace: RampTrace, settings: ThermalRamp, resolution: Resolution, accuracy: SensorAccuracy
) -> list[Reading]:
    """Power, steadiness and thermal resistance: they need the last step to have run."""
    cut = trace.cut
    power = mean(trace.last_window("power_w"))
    watts: float | NotMeasured
    if cut is not None and not trace.spent:
        watts = NotMeasured(cut)
    else:
        unread = NotMeasured(_no_power(trace))
        watts = unread if power is None else power
    floor = settings.power_at_least_w
    told = _of_power(power or 0.0, resolution, accuracy)
    return [
        judge(
            "power_w",
            watts,
            "W",
            None if floor is None else Limit(lower=floor),
            uncertainty=told.uncertainty,
            source=ThermalRampSource.END_OF_LAST_STEP(),
            required=floor is not None,
        ),
        _heat(trace, settings, resolution),
        *judge_steady(trace, settings, resolution),
        judge_resistance(trace, settings, resolution, accuracy),
    ]


def _of_power(power_w: float, resolution: Resolution, accuracy: SensorAccuracy) -> Spread:
    """Of a mean power: the sensor's accuracy and its step, which a mean does not make finer."""
    return spread((resolution.power_w,), std=0.5 * accuracy.power_u_share * power_w)


def _heat(trace: RampTrace, settings: ThermalRamp, resolution: Resolution) -> Reading:
    """Energy above idle; a block without a loop must not have taken in more than its budget.

    Plan and reading are told by the same sensor: its step counts, its accuracy falls out.
    """
    told = spread((resolution.power_w * trace.loaded_s,))
    plan = settings.own_plan
    limit = None
    if plan is not None and plan.no_loop and plan.budget_j is not None:
        limit = Limit(upper=plan.budget_j)
    if trace.idle_power_w is None:
        reason = _no_power(trace)
        return not_measured(
            "heat_given_j", "J", reason, limit=limit, required=limit is not None
        )
    return judge(
        "heat_given_j",
        trace.energy_j,
        "J",
        limit,
        uncertainty=told.uncertainty,
        required=limit is not None,
    )


def _slowed(trace: RampTrace, cooling: CoolingState) -> Reading:
    """Whether the card slowed itself down for heat; if so, when, and what the cooling is like."""
    slowed: str | NotMeasured = NotMeasured(
        ThermalRampReason.SLOWING_UNTOLD(reason=trace.why_unread("throttle_reasons"))
    )
    if trace.throttled is not None:
        slowed = "yes" if trace.throttled else "no"
    why = _when_slowed(trace)
    if why is not None and cooling != CANNOT_TELL:
        why = ThermalRampReason.SLOWED_WITH_COOLING(reason=why, state=term_of(cooling))
    return judge_text("slowed_for_heat", slowed, ("no",), required=False, why_fail=why)


def _when_slowed(trace: RampTrace) -> Reason | None:
    at = trace.slowed_at
    if at is None:
        return None
    after_s = at.elapsed_s - trace.steps[0][0].elapsed_s
    temp_c, power_w = known(at.telemetry.gpu_temp_c), known(at.telemetry.power_w)
    if temp_c is not None and power_w is not None:
        return ThermalRampReason.SLOWED_AT_BOTH(
            gpu_temp_c=temp_c, power_w=power_w, after_s=after_s
        )
    if temp_c is not None:
        return ThermalRampReason.SLOWED_AT_TEMP(gpu_temp_c=temp_c, after_s=after_s)
    if power_w is not None:
        return ThermalRampReason.SLOWED_AT_POWER(power_w=power_w, after_s=after_s)
    return ThermalRampReason.SLOWED(after_s=after_s)
