"""What a ramp has shown of the cooling: its state, its elements, and the rise at rated power.

Everything here stands on the model that the forecast guard has identified from the samples of the
run. Uncertainties are the half width of its 95 % intervals, and values their middle, so that value
± U is the interval. What the samples have not told (an interval as wide as what was believed
before the first of them) is not measured.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from burnin.core.reading import (
    Limit,
    NotMeasured,
    Reading,
    Verdict,
    judge,
    judge_text,
    known,
    not_measured,
)
from burnin.profile.ramp import ThermalRamp
from burnin.stages.thermal_ramp.trace import RampTrace
from burnin.thermal.cooling_verdict import (
    TELLS_AT,
    CoolingVerdict,
    Estimate,
    judge_cooling,
    rise_at,
)
from burnin.thermal.estimator import CoolingWatch
from burnin.thermal.ramp_planner import DRY_STATES
from burnin.thermal.states import CANNOT_TELL, HEALTHY, CooledBy, Cooling, check, suspect

SURE_AT = 0.9
"""Probability from which a card is taken as sound, or as faulty where a state was named."""
FAULTY_AT = 0.97
"""The same for a fault of which nobody can tell which it is."""
_REACHED_SHARE = 0.97
_NO_ROW = "no sample showed power and temperature together"


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
    cut = trace.cut if settings.own_plan is not None else ""
    yield judge_state(verdict, no_loop, watch.cooled_by, cut)
    said: float | NotMeasured = 100.0 * verdict.probability
    if watch.bank is None:
        said = NotMeasured(_NO_ROW)
    yield judge("cooling_sure_pct", said, "%", None, required=False)
    yield from _resistances(verdict, settings, end.fan_rpm)
    for name, found in verdict.capacity_j_per_k.items():
        yield _element(f"{name}_capacity_j_per_k", found, "J/K", None, name in verdict.believed)
    yield judge_text("cooling_steady", _steady(end.steady), None, required=False)
    rated = _rise(watch, verdict, settings, trace)
    if rated is not None:
        yield rated


def judge_state(
    verdict: CoolingVerdict, no_loop: bool, cooled_by: CooledBy | None, cut: str = ""
) -> Reading:
    """The state: sound passes, a fault fails with what to check, what nobody can tell does neither.

    `no_loop`: it is known that no loop is attached, so that no coolant is no fault. `cut`: why a
    ramp ended before the power that it was to reach; then nothing passes.
    """
    name = "cooling_state"
    chances = verdict.probabilities
    sound_p = sum(chances[s] for s in HEALTHY)
    likely = sorted(chances, key=lambda s: -chances[s])[:2]
    told = " or ".join(f"{s} ({100 * chances[s]:.0f} %)" for s in likely)
    if no_loop and sum(chances[s] for s in DRY_STATES) >= TELLS_AT:
        return Reading(name, str(likely[0]), "", reason="as it must be: no loop is attached")
    first = likely[0]
    look = f"{suspect(first, cooled_by)}. {check(first, cooled_by)}"
    if verdict.state == CANNOT_TELL:
        if no_loop or 1.0 - sound_p < FAULTY_AT:
            return not_measured(name, "", f"{CANNOT_TELL}: {told}")
        why = f"cooling is at fault ({100 * (1.0 - sound_p):.0f} % sure), by {told}: {look}"
        return judge_text(name, CANNOT_TELL, _ALLOWED, why_fail=why)
    said = f"{100 * verdict.probability:.0f} % sure"
    if first in HEALTHY:
        if no_loop:
            why = "the profile says that no loop is attached; the card behaves as if one were"
            return _unsure(name, first, why)
        if cut:
            return _unsure(name, first, f"so it looks ({said}), but {cut}")
        if sound_p < SURE_AT:
            return _unsure(name, first, f"not sure enough: {told}")
        return judge_text(name, str(first), _ALLOWED, source=said)
    if 1.0 - sound_p < SURE_AT:
        return _unsure(name, first, f"not sure enough: {told}: {look}")
    return judge_text(
        name, str(first), _ALLOWED, source=said, why_fail=f"cooling is {first} ({said}): {look}"
    )


_ALLOWED = tuple(sorted(str(s) for s in HEALTHY))


def _unsure(name: str, state: Cooling, why: str) -> Reading:
    return Reading(name, str(state), "", allowed=_ALLOWED, verdict=Verdict.UNSURE, reason=why)


def _resistances(
    verdict: CoolingVerdict, settings: ThermalRamp, fan_rpm: float | None
) -> Iterator[Reading]:
    """Each element; the mount's and the next one's limits come from the profile."""
    mount = settings.die_to_block_at_most_k_per_w
    away = settings.block_to_away_at_most_k_per_w
    for name, found in verdict.resistance_k_per_w.items():
        limit = mount if name == "die_to_block" else away if name.startswith("block_to_") else None
        why = ""
        if name == "die_to_block" and mount is not None:
            why = (
                f"the mount resists with {found.value:.3g} K/W, at most {mount:g} is allowed: "
                f"{suspect(Cooling.POOR_MOUNT)}. {check(Cooling.POOR_MOUNT)}"
            )
        fans = name == "block_to_room" and fan_rpm is not None
        at = f" at {fan_rpm:.0f} rpm" if fans else ""
        reading = _element(f"{name}_k_per_w", found, "K/W", limit, name in verdict.believed, why)
        yield replace(reading, source=reading.source + at) if reading.source else reading
    there = verdict.resistance_k_per_w
    for name, limit in (("die_to_block", mount), ("block_to_away", away)):
        if limit is not None and not there:
            yield not_measured(f"{name}_k_per_w", "K/W", _NO_ROW, limit=Limit(upper=limit))


def _element(
    name: str, found: Estimate, unit: str, most: float | None, believed: bool, why_fail: str = ""
) -> Reading:
    limit = None if most is None else Limit(upper=most)
    if believed:
        why = (
            "the ramp told nothing of it: what was believed of such cards beforehand is "
            f"{found.low:.3g} to {found.high:.3g} {unit}"
        )
        return not_measured(name, unit, why, limit=limit, required=limit is not None)
    value, uncertainty = _middle(found)
    return judge(
        name,
        value,
        unit,
        limit,
        uncertainty=uncertainty,
        source=f"identified by the model, 95 % interval; median {found.value:.3g} {unit}",
        required=limit is not None,
        why_fail=why_fail,
    )


def _middle(found: Estimate) -> tuple[float, float]:
    """Middle and half width of the interval."""
    return 0.5 * (found.low + found.high), 0.5 * (found.high - found.low)


def _steady(steady: bool | None) -> str | NotMeasured:
    if steady is None:
        return NotMeasured(_NO_ROW)
    return "yes" if steady else "no"


def _rise(
    watch: CoolingWatch, verdict: CoolingVerdict, settings: ThermalRamp, trace: RampTrace
) -> Reading | None:
    """Rise over the coolest reading at rest under rated power; of every ramp that names one.

    Where that power was not reached it is extrapolated: it may fail, but never pass.
    """
    plan = settings.own_plan
    reached_w = _held_w(trace)
    rated_w = settings.rated_w
    if rated_w is None and plan is not None:
        rated_w = reached_w if trace.full_work and reached_w else plan.top_w
    if rated_w is None:
        return None
    name, most_k = "rise_at_rated_k", settings.rise_at_rated_at_most_k
    limit = None if most_k is None else Limit(upper=most_k)
    needed = limit is not None
    if plan is not None and plan.no_loop:
        why = f"no loop is attached: the rise at {rated_w:.0f} W stays to be shown with one"
        return not_measured(name, "K", why, limit=limit, required=needed)
    if watch.bank is None:
        return not_measured(name, "K", _NO_ROW, limit=limit, required=needed)
    value, uncertainty = _middle(rise_at(watch, rated_w))
    guessed = [n.replace("_", " ") for n in verdict.resistance_k_per_w if n in verdict.believed]
    reached = reached_w is not None and not trace.cut and reached_w >= _REACHED_SHARE * rated_w
    if reached and not guessed:
        source = f"{rated_w:.0f} W was held; at rest by the model, 95 % interval"
        return judge(name, value, "K", limit, uncertainty=uncertainty, source=source)
    most = "nothing" if reached_w is None else f"{reached_w:.0f} W"
    source = f"extrapolated to rest at {rated_w:.0f} W from {most} held; cooling: {verdict.state}"
    if guessed:
        source += f"; {' and '.join(guessed)} as believed beforehand"
    found = judge(name, value, "K", limit, uncertainty=uncertainty, source=source)
    if limit is None or found.verdict is Verdict.FAIL:
        return found
    why = f"{source}: what was not reached is not shown"
    return Reading(
        name, value, "K", uncertainty, limit, (), Verdict.UNSURE, why, source, needed
    )


def _held_w(trace: RampTrace) -> float | None:
    """Highest power that the end of any step has shown."""
    found = []
    for step in trace.steps:
        told = (known(s.telemetry.power_w) for s in step[len(step) // 2 :])
        powers = [w for w in told if w is not None]
        if powers:
            found.append(sum(powers) / len(powers))
    return max(found, default=None)
