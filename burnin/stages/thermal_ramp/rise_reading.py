"""The rise over the coolest reading at rest under rated power, as far as the ramp has shown it."""

from __future__ import annotations

from burnin.core.meaning import Source, Term
from burnin.core.reading import Limit, Reading, Verdict, judge, known, not_measured
from burnin.stages.thermal_ramp.meanings import (
    ThermalRampReason,
    ThermalRampSource,
    ThermalRampTerm,
)
from burnin.stages.thermal_ramp.ramp_trace import RampTrace
from burnin.stages.thermal_ramp.settings import ThermalRamp
from burnin.thermal.cooling_verdict import CoolingVerdict, rise_at
from burnin.thermal.estimator import CoolingWatch
from burnin.thermal.states import term_of

NAME = "rise_at_rated_k"
_REACHED_SHARE = 0.97


def rise_reading(
    watch: CoolingWatch, verdict: CoolingVerdict, settings: ThermalRamp, trace: RampTrace
) -> Reading | None:
    """The rise, of every ramp that names a rated power.

    Where that power was not reached it is extrapolated: it may fail, but never pass.
    """
    plan = settings.own_plan
    held_w = _held_w(trace)
    rated_w = settings.rated_w
    if rated_w is None and plan is not None:
        rated_w = held_w if trace.full_work and held_w else plan.top_w
    if rated_w is None:
        return None
    most_k = settings.rise_at_rated_at_most_k
    limit = None if most_k is None else Limit(upper=most_k)
    needed = limit is not None
    if plan is not None and plan.no_loop:
        why = ThermalRampReason.RISE_NEEDS_LOOP(rated_w=rated_w)
        return not_measured(NAME, "K", why, limit=limit, required=needed)
    if watch.bank is None:
        no_row = ThermalRampReason.NO_ROW()
        return not_measured(NAME, "K", no_row, limit=limit, required=needed)
    rise = rise_at(watch, rated_w)
    value, uncertainty = 0.5 * (rise.low + rise.high), 0.5 * (rise.high - rise.low)
    reached = held_w is not None and trace.cut is None and held_w >= _REACHED_SHARE * rated_w
    believed = [n for n in verdict.resistance_k_per_w if n in verdict.believed]
    if reached and not believed:
        held = ThermalRampSource.HELD(rated_w=rated_w)
        return judge(NAME, value, "K", limit, uncertainty=uncertainty, source=held)
    source = _extrapolated(rated_w, held_w, term_of(verdict.state), believed)
    found = judge(NAME, value, "K", limit, uncertainty=uncertainty, source=source)
    if limit is None or found.verdict is Verdict.FAIL:
        return found
    unsure = ThermalRampReason.NOT_REACHED(source=source)
    return Reading(
        NAME, value, "K", uncertainty, limit, (), Verdict.UNSURE, unsure, source, needed
    )


def _extrapolated(
    rated_w: float, held_w: float | None, state: Term, believed: list[str]
) -> Source:
    if held_w is None:
        source = ThermalRampSource.EXTRAPOLATED_FROM_NOTHING(rated_w=rated_w, state=state)
    else:
        source = ThermalRampSource.EXTRAPOLATED(rated_w=rated_w, held_w=held_w, state=state)
    if not believed:
        return source
    elements = tuple(ThermalRampTerm(f"element_{name}")() for name in believed)
    return ThermalRampSource.WITH_BELIEFS(source=source, elements=elements)


def _held_w(trace: RampTrace) -> float | None:
    """Highest power that the end of any step has shown."""
    found = []
    for step in trace.steps:
        told = (known(s.telemetry.power_w) for s in step[len(step) // 2 :])
        powers = [w for w in told if w is not None]
        if powers:
            found.append(sum(powers) / len(powers))
    return max(found, default=None)
