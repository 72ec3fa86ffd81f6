"""What a ramp has shown of the cooling: its state, its elements, and the rise at rated power.

Everything here stands on the model that the forecast guard has identified from the samples of the
run. Uncertainties are the half width of its 95 % intervals, and values their middle, so that value
± U is the interval. What the samples have not told (an interval as wide as what was believed
before the first of them) is not measured.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from burnin.core.meaning import Reason, Source
from burnin.core.reading import Limit, NotMeasured, Reading, judge, judge_text, not_measured
from burnin.stages.thermal_ramp.cooling_state_reading import judge_state
from burnin.stages.thermal_ramp.meanings import ThermalRampReason, ThermalRampSource
from burnin.stages.thermal_ramp.ramp_trace import RampTrace
from burnin.stages.thermal_ramp.rise_reading import rise_reading
from burnin.stages.thermal_ramp.settings import ThermalRamp
from burnin.thermal.cooling_verdict import CoolingVerdict, Estimate, judge_cooling
from burnin.thermal.estimator import CoolingWatch
from burnin.thermal.states import Cooling, check, suspect


@dataclass(frozen=True)
class EndOfLoad:
    """What only the load's end can tell: whether the card was steady, and how fast its fans ran.

    None where nobody can say.
    """

    steady: bool | None
    fan_rpm: float | None


def cooling_readings(
    watch: CoolingWatch, settings: ThermalRamp, trace: RampTrace, end: EndOfLoad
) -> Iterator[Reading]:
    """Every reading of the cooling, the cool-down after the load included."""
    verdict = judge_cooling(watch, end.fan_rpm)
    no_loop = settings.own_plan is not None and settings.own_plan.no_loop
    cut = trace.gave_up if settings.own_plan is None else trace.cut
    yield judge_state(verdict, no_loop, watch.cooled_by, cut)
    said: float | NotMeasured = 100.0 * verdict.probability
    if watch.bank is None:
        said = NotMeasured(ThermalRampReason.NO_ROW())
    yield judge("cooling_sure_pct", said, "%", None, required=False)
    yield from _resistances(verdict, settings, end.fan_rpm)
    for name, found in verdict.capacity_j_per_k.items():
        reading = f"{name}_capacity_j_per_k"
        if name in verdict.believed:
            yield _believed(reading, found, "J/K", None)
        else:
            yield _identified(reading, found, "J/K", None)
    yield judge_text("cooling_steady", _steady(end.steady), None, required=False)
    rated = rise_reading(watch, verdict, settings, trace)
    if rated is not None:
        yield rated


def _resistances(
    verdict: CoolingVerdict, settings: ThermalRamp, fan_rpm: float | None
) -> Iterator[Reading]:
    """Each element; the mount's and the next one's limits come from the profile."""
    mount = settings.die_to_block_at_most_k_per_w
    away = settings.block_to_away_at_most_k_per_w
    for name, found in verdict.resistance_k_per_w.items():
        most = mount if name == "die_to_block" else away if name.startswith("block_to_") else None
        limit = None if most is None else Limit(upper=most)
        reading = f"{name}_k_per_w"
        if name in verdict.believed:
            yield _believed(reading, found, "K/W", limit)
            continue
        why = _mount_resists(found, mount) if name == "die_to_block" else None
        rpm = fan_rpm if name == "block_to_room" else None
        yield _identified(reading, found, "K/W", limit, why, rpm)
    there = verdict.resistance_k_per_w
    for name, most in (("die_to_block", mount), ("block_to_away", away)):
        if most is not None and not there:
            no_row = ThermalRampReason.NO_ROW()
            yield not_measured(f"{name}_k_per_w", "K/W", no_row, limit=Limit(upper=most))


def _mount_resists(found: Estimate, most: float | None) -> Reason | None:
    if most is None:
        return None
    return ThermalRampReason.MOUNT_RESISTS(
        resistance_k_per_w=found.value,
        limit_k_per_w=most,
        suspect=suspect(Cooling.POOR_MOUNT),
        check=check(Cooling.POOR_MOUNT),
    )


def _believed(name: str, found: Estimate, unit: str, limit: Limit | None) -> Reading:
    """An element of which the samples told nothing."""
    why = ThermalRampReason.BELIEVED_ONLY(low=found.low, high=found.high, unit=unit)
    return not_measured(name, unit, why, limit=limit, required=limit is not None)


def _identified(
    name: str,
    found: Estimate,
    unit: str,
    limit: Limit | None,
    why_fail: Reason | None = None,
    fan_rpm: float | None = None,
) -> Reading:
    source: Source = ThermalRampSource.IDENTIFIED(median=found.value, unit=unit)
    if fan_rpm is not None:
        source = ThermalRampSource.IDENTIFIED_AT_FAN(
            median=found.value, unit=unit, fan_rpm=fan_rpm
        )
    return judge(
        name,
        0.5 * (found.low + found.high),
        unit,
        limit,
        uncertainty=0.5 * (found.high - found.low),
        source=source,
        required=limit is not None,
        why_fail=why_fail,
    )


def _steady(steady: bool | None) -> str | NotMeasured:
    if steady is None:
        return NotMeasured(ThermalRampReason.NO_ROW())
    return "yes" if steady else "no"
