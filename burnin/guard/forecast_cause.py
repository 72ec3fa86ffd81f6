"""What a foreseen crossing is laid to: the signal that crosses first, the states behind it."""

from __future__ import annotations

from burnin.core.foreseen import StillLikely
from burnin.core.meaning import Cause, Check, Term
from burnin.thermal.causes import told_causes
from burnin.thermal.cooling_verdict import name_state
from burnin.thermal.estimator import CoolingWatch
from burnin.thermal.forecast import Forecast
from burnin.thermal.inputs import Limits
from burnin.thermal.meanings import CoolingCause, CoolingCheck, CoolingTerm
from burnin.thermal.states import DRY_STATES, HEALTHY, Cooling, check, suspect, term_of

ALSO_CHANCE = 0.1
"""Another way to lose the flow is named beside the likeliest from this probability."""
BLAMED_FROM = 0.25
"""A fault is named for a crossing from this share of the draws that cross."""
UNKNOWN_FROM = 0.5
"""No part is blamed where it is likelier than not that no model explains what is read."""
LIKELY_FROM = 0.05
"""A cause is told from this probability: of twenty such stops one is behind it."""


def likeliest(watch: CoolingWatch) -> Cooling:
    """The state that best explains the crossing: the likeliest fault, or healthy if none is."""
    if told_causes(watch)[Cooling.UNKNOWN] > UNKNOWN_FROM:
        return Cooling.UNKNOWN
    forecast, chances = watch.forecast, watch.probabilities()
    blame = dict(chances if forecast is None else forecast.blame)
    bare = chances[Cooling.MISSING_PASTE]
    if forecast is not None and forecast.spot_share > 0.5:
        blame[Cooling.MISSING_PASTE] = max(bare, blame.get(Cooling.MISSING_PASTE, 0.0))
    faults = {s: p for s, p in blame.items() if s not in HEALTHY}
    fault = max(faults, key=lambda s: faults[s], default=None)
    if fault is not None and faults[fault] > BLAMED_FROM:
        return fault
    return max(chances, key=lambda s: chances[s])


def nearest(forecast: Forecast, limits: Limits) -> tuple[str, float]:
    """Which signal is to cross first, and its limit, °C."""
    if forecast.spot_share > 0.5 and limits.hotspot_c is not None:
        return "hotspot_temp_c", limits.hotspot_c
    return "gpu_temp_c", limits.die_c


def blamed_states(watch: CoolingWatch) -> tuple[tuple[Term, ...], list[Cooling]]:
    """What the cooling is told to be, and the states behind that, likeliest first."""
    likely, (state, _) = likeliest(watch), name_state(told_causes(watch))
    term = term_of(likely)
    told, blamed = [term if state == likely else CoolingTerm.PERHAPS(state=term)], [likely]
    chances = watch.probabilities()
    if likely in DRY_STATES:  # a block without flow: dry, or with water that stands
        also = [s for s in DRY_STATES if s != likely and chances[s] > ALSO_CHANCE]
        told += [term_of(s) for s in also]
        blamed += also
    return tuple(told), blamed


def still_likely(watch: CoolingWatch) -> tuple[StillLikely, ...]:
    """The causes that are likely after the last row, each with its check, likeliest first.

    Where a crossing is foreseen, those of the draws that cross. A sound card is one of them: then
    the load is too much for it. 'Unknown' takes its share of all of them.
    """
    forecast, chances = watch.forecast, watch.probabilities()
    found = forecast.blame if forecast is not None and forecast.blame else chances
    if forecast is not None and forecast.spot_share > 0.5:
        bare = chances[Cooling.MISSING_PASTE]
        rest = {state: p * (1.0 - bare) for state, p in found.items()}
        found = rest | {Cooling.MISSING_PASTE: bare}
    unknown = told_causes(watch)[Cooling.UNKNOWN]
    found = {state: p * (1.0 - unknown) for state, p in found.items()} | {Cooling.UNKNOWN: unknown}
    by = watch.cooled_by
    told: dict[tuple[Cause, Check], float] = {}
    for state, probability in found.items():
        both_of = suspect(state, by), check(state, by)
        told[both_of] = told.get(both_of, 0.0) + probability
    likely = sorted(told.items(), key=lambda one: -one[1])
    return tuple(
        StillLikely(cause, what, probability)
        for (cause, what), probability in likely
        if probability >= LIKELY_FROM
    )


def either(causes: list[Cause]) -> Cause:
    """All of them as one."""
    first, *rest = causes
    return CoolingCause.EITHER(first=first, second=either(rest)) if rest else first


def both(checks: list[Check]) -> Check:
    """All of them as one."""
    first, *rest = checks
    return CoolingCheck.BOTH(first=first, second=both(rest)) if rest else first
