"""The state of the cooling, judged: sound passes, a fault fails, what nobody can tell neither."""

from __future__ import annotations

from burnin.core.meaning import Reason, Term
from burnin.core.reading import Reading, Verdict, judge_text, not_measured
from burnin.stages.thermal_ramp.meanings import (
    ThermalRampReason,
    ThermalRampSource,
    ThermalRampTerm,
)
from burnin.thermal.cooling_verdict import TELLS_AT, CoolingVerdict
from burnin.thermal.states import (
    CANNOT_TELL,
    DRY_STATES,
    HEALTHY,
    CooledBy,
    Cooling,
    check,
    suspect,
    term_of,
)

SURE_AT = 0.9
"""Probability from which a card is taken as sound, or as faulty where a state was named."""
FAULTY_AT = 0.97
"""The same for a fault of which nobody can tell which it is."""
NAME = "cooling_state"
_ALLOWED = tuple(sorted(str(s) for s in HEALTHY))


def judge_state(
    verdict: CoolingVerdict,
    no_loop: bool,
    cooled_by: CooledBy | None,
    cut: Reason | None = None,
) -> Reading:
    """The state, by how sure it is.

    `no_loop`: it is known that no loop is attached, so that no coolant is no fault. `cut`: why a
    ramp ended before the power that it was to reach; then nothing passes.
    """
    chances = verdict.probabilities
    likely = sorted(chances, key=lambda s: -chances[s])[:2]
    told = tuple(_chance(state, chances[state]) for state in likely)
    first, sure_pct = likely[0], 100.0 * verdict.probability
    sound_p = sum(chances[s] for s in HEALTHY)
    fault_p = 1.0 - sound_p - chances[Cooling.UNKNOWN]
    if no_loop and sum(chances[s] for s in DRY_STATES) >= TELLS_AT:
        return Reading(NAME, str(first), "", reason=ThermalRampReason.LOOP_KNOWN_MISSING())
    look = {"suspect": suspect(first, cooled_by), "check": check(first, cooled_by)}
    if verdict.state == CANNOT_TELL:
        if no_loop or fault_p < FAULTY_AT:
            return not_measured(NAME, "", ThermalRampReason.CANNOT_TELL(chances=told))
        why = ThermalRampReason.COOLING_AT_FAULT(sure_pct=100.0 * fault_p, chances=told, **look)
        return judge_text(NAME, str(CANNOT_TELL), _ALLOWED, why_fail=why)
    if first is Cooling.UNKNOWN:  # what nobody can explain is laid to no part: law 15
        return _unsure(first, ThermalRampReason.NO_MODEL_FITS(sure_pct=sure_pct, **look))
    source = ThermalRampSource.SURE(sure_pct=sure_pct)
    if first not in HEALTHY:
        if fault_p < SURE_AT:
            return _unsure(first, ThermalRampReason.NOT_SURE_OF_FAULT(chances=told, **look))
        why = ThermalRampReason.COOLING_IS(state=term_of(first), sure_pct=sure_pct, **look)
        return judge_text(NAME, str(first), _ALLOWED, source=source, why_fail=why)
    if no_loop:
        return _unsure(first, ThermalRampReason.AS_IF_LOOP())
    if cut is not None:
        return _unsure(first, ThermalRampReason.LOOKS_SO(sure_pct=sure_pct, reason=cut))
    if sound_p < SURE_AT:
        return _unsure(first, ThermalRampReason.NOT_SURE(chances=told))
    return judge_text(NAME, str(first), _ALLOWED, source=source)


def _chance(state: Cooling, probability: float) -> Term:
    return ThermalRampTerm.STATE_CHANCE(state=term_of(state), chance_pct=100.0 * probability)


def _unsure(state: Cooling, why: Reason) -> Reading:
    return Reading(
        NAME, str(state), "", allowed=_ALLOWED, verdict=Verdict.UNSURE, reason=why
    )
