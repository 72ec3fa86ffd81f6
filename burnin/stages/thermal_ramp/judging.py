"""What a thermal ramp's trace says: every reading, also of a ramp that was cut short."""

from __future__ import annotations

import math

from burnin.core.reading import (
    Limit,
    NotMeasured,
    Reading,
    integer_code_uncertainty,
    judge,
    judge_text,
    known,
    not_measured,
)
from burnin.core.sample import Resolution
from burnin.profile.ramp import ThermalRamp
from burnin.stages.thermal_ramp.held_power import judge_held
from burnin.stages.thermal_ramp.settling import (
    POWER_SENSOR_SHARE,
    judge_drift,
    judge_resistance,
    mean,
)
from burnin.stages.thermal_ramp.trace import RATE_WINDOW_S, RampTrace

_FAN_STARTS_WITHIN_S = 6.0


def judge_trace(
    trace: RampTrace, settings: ThermalRamp, resolution: Resolution, cooling: str = ""
) -> list[Reading]:
    """Every reading that a ramp's samples give so far; `cooling` says what state it is in."""
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
    readings.extend(judge_held(trace, settings))
    readings.extend(_judge_end(trace, settings, resolution))
    readings.append(_slowed(trace, cooling))
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


def _at_most(value: float | None) -> Limit | None:
    return None if value is None else Limit(upper=value)


def _judge_end(
    trace: RampTrace, settings: ThermalRamp, resolution: Resolution
) -> list[Reading]:
    """Power, steadiness and thermal resistance: they need the last step to have run."""
    cut = trace.cut
    power = mean(trace.last_window("power_w"))
    watts: float | NotMeasured
    if cut and not trace.spent:
        watts = NotMeasured(cut)
    else:
        watts = NotMeasured("the card shows no power sensor") if power is None else power
    floor = settings.power_at_least_w
    told = 0.0 if power is None else POWER_SENSOR_SHARE * power
    return [
        judge(
            "power_w",
            watts,
            "W",
            None if floor is None else Limit(lower=floor),
            uncertainty=told,
            source="mean over the end of the last step",
            required=floor is not None,
        ),
        _heat(trace, settings),
        judge_drift(trace, settings, resolution, cut),
        judge_resistance(trace, settings, resolution, cut),
    ]


def _heat(trace: RampTrace, settings: ThermalRamp) -> Reading:
    """Energy above idle; a block without a loop must not have taken in more than its budget."""
    plan = settings.own_plan
    limit = None
    if plan is not None and plan.no_loop and plan.budget_j is not None:
        limit = Limit(upper=plan.budget_j)
    if trace.idle_power_w is None:
        reason = "the card shows no power sensor"
        return not_measured(
            "heat_given_j", "J", reason, limit=limit, required=limit is not None
        )
    return judge("heat_given_j", trace.energy_j, "J", limit, required=limit is not None)


def _slowed(trace: RampTrace, cooling: str) -> Reading:
    """Whether the card slowed itself down for heat; if so, when, and what the cooling is like."""
    slowed: str | NotMeasured = NotMeasured("the card does not tell why it slows itself down")
    if trace.throttled is not None:
        slowed = "yes" if trace.throttled else "no"
    why = "the card slowed itself down for heat"
    at = trace.slowed_at
    if at is not None:
        for label, value, unit in (
            ("at", known(at.telemetry.gpu_temp_c), "°C"),
            ("and", known(at.telemetry.power_w), "W"),
        ):
            why += "" if value is None else f" {label} {value:.0f} {unit}"
        why += f", {at.elapsed_s - trace.steps[0][0].elapsed_s:.0f} s into the ramp"
    if cooling:
        why += f"; {cooling}"
    return judge_text("slowed_for_heat", slowed, ("no",), required=False, why_fail=why)
