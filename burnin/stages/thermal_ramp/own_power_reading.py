"""Whether full work drew what the card itself is made for, or why it did not.

A card that draws less than nine tenths of its own limit under full work, and whose limit nobody has
named as reached, is held back by something: too few supply contacts, an open sense line, a plug
that is half in, a limit that the driver was given. Nothing in the load tells which, so the reading
is unsure and names them in order.
"""

from __future__ import annotations

from collections.abc import Sequence

from burnin.core.decision import SensorAccuracy
from burnin.core.meaning import Reason, Source, Term
from burnin.core.ratings import OwnRatings
from burnin.core.reading import (
    Limit,
    NotMeasured,
    Reading,
    Verdict,
    judge,
    known,
    not_measured,
)
from burnin.core.sample import Sample, Slowdown
from burnin.stages.thermal_ramp.meanings import (
    ThermalRampReason,
    ThermalRampSource,
    ThermalRampTerm,
)
from burnin.stages.thermal_ramp.ramp_trace import RampTrace
from burnin.stages.thermal_ramp.settings import ThermalRamp
from burnin.stages.thermal_ramp.settled_readings import mean

NAME = "own_power_share"
_FULL_SHARE = 0.97
"""Share of work from which a step asks for all that there is."""
_SETTLES_S = 8.0
"""A soft start and the card's own control of its clocks take so long."""
_LIMIT_FROM = 0.75
"""A card that names its power limit as reached is believed from this share of it on."""
_AT_TOP_CLOCK = 0.97
_POWER_LIMITS = (
    Slowdown.POWER_LIMIT,
    Slowdown.SUSTAINED_POWER,
    Slowdown.BURST_POWER,
    Slowdown.PEAK_CURRENT,
)


def own_power_reading(
    trace: RampTrace, settings: ThermalRamp, ratings: OwnRatings, accuracy: SensorAccuracy
) -> Reading:
    """Mean power at the end of the last step over the card's own limit."""
    least = settings.own_power_at_least_share
    limit = Limit(lower=least)
    own_w = known(ratings.own_power_limit_w)
    if not own_w:
        untold = ratings.own_power_limit_w
        why = untold.reason if isinstance(untold, NotMeasured) else ThermalRampReason.NO_OWN_LIMIT()
        return not_measured(NAME, "", why, required=False)
    less = _asks_for_less(trace, settings, own_w)
    if less is not None:
        return not_measured(NAME, "", less, required=False)
    power_w = mean(trace.last_window("power_w"))
    if power_w is None:
        unread = ThermalRampReason.NO_POWER_SENSOR(reason=trace.why_unread("power_w"))
        return not_measured(NAME, "", unread, limit=limit)
    samples = _last_half(trace)
    share, u_share = power_w / own_w, accuracy.power_u_share * power_w / own_w
    source: Source = ThermalRampSource.OWN_LIMIT(limit_w=own_w, power_w=power_w)
    found = judge(NAME, share, "", limit, uncertainty=u_share, source=source)
    if found.verdict is Verdict.PASS:
        return found
    if _mostly(samples, (Slowdown.HEAT,)):
        hot = ThermalRampSource.OWN_LIMIT_HOT(limit_w=own_w, power_w=power_w)
        return judge(NAME, share, "", None, uncertainty=u_share, source=hot, required=False)
    lowered = _lowered(ratings, own_w, least)
    if not lowered and share >= _LIMIT_FROM and _mostly(samples, _POWER_LIMITS):
        told = ThermalRampSource.OWN_LIMIT_REACHED(limit_w=own_w, power_w=power_w)
        return judge(NAME, share, "", None, uncertainty=u_share, source=told, required=False)
    why_less = ThermalRampReason.BELOW_OWN_POWER(
        power_w=power_w,
        limit_w=own_w,
        share_pct=100.0 * share,
        set_limit_w=known(ratings.set_power_limit_w),
        causes=_causes(lowered, _at_top_clock(samples, ratings)),
    )
    return Reading(
        NAME, share, "", u_share, limit, (), Verdict.UNSURE, why_less, source, rule=found.rule
    )


def _asks_for_less(
    trace: RampTrace, settings: ThermalRamp, own_w: float
) -> Reason | None:
    """Why this ramp cannot show the card's own power; None where it can."""
    plan = settings.own_plan
    asked_w = trace.asked_w[-1] if trace.asked_w else None
    if plan is not None:
        if plan.no_loop or plan.top_w < settings.own_power_at_least_share * own_w:
            return ThermalRampReason.ASKS_FOR_LESS()
    elif settings.heat_budget_j is not None:
        return ThermalRampReason.ASKS_FOR_LESS()
    else:
        last = settings.steps[-1]
        by_watts = last.power_w is not None
        if by_watts and (last.power_w or 0.0) < settings.own_power_at_least_share * own_w:
            return ThermalRampReason.ASKS_FOR_LESS()
        if not by_watts and (last.load_share or 0.0) < _FULL_SHARE:
            return ThermalRampReason.ASKS_FOR_LESS()
    if trace.cut is not None:
        return trace.cut
    step = trace.steps[-1] if trace.steps else []
    length_s = step[-1].elapsed_s - step[0].elapsed_s if step else 0.0
    rise_s = 0.0 if asked_w is None else asked_w / settings.power_rise_w_per_s
    if length_s < _SETTLES_S + rise_s:
        return ThermalRampReason.STEP_UNSETTLED(step_s=length_s)
    return None


def _last_half(trace: RampTrace) -> Sequence[Sample]:
    step = trace.steps[-1]
    return step[len(step) // 2 :]


def _mostly(samples: Sequence[Sample], slowdowns: tuple[Slowdown, ...]) -> bool:
    """Whether one of these held in half of the samples or more."""
    told = [known(s.telemetry.throttle_reasons) or () for s in samples]
    held = sum(any(one in slowdowns for one in reasons) for reasons in told)
    return bool(told) and 2 * held >= len(told)


def _lowered(ratings: OwnRatings, own_w: float, least: float) -> bool:
    """Whether the limit in force lies below what may be expected of the card's own."""
    now_w = known(ratings.set_power_limit_w)
    return now_w is not None and now_w < least * own_w


def _at_top_clock(samples: Sequence[Sample], ratings: OwnRatings) -> bool:
    """Whether nothing held the clock back: then the work itself asked for no more."""
    top_mhz = known(ratings.most_core_clock_mhz)
    clocks = [c for s in samples if (c := known(s.telemetry.core_clock_mhz)) is not None]
    held = any(known(s.telemetry.throttle_reasons) for s in samples)
    if not top_mhz or not clocks or held:
        return False
    return sum(clocks) / len(clocks) >= _AT_TOP_CLOCK * top_mhz


def _causes(lowered: bool, at_top_clock: bool) -> tuple[Term, ...]:
    """What may hold the card back, most likely first."""
    contacts, sense = ThermalRampTerm.SUPPLY_CONTACTS(), ThermalRampTerm.SENSE_LINES()
    plug, driver = ThermalRampTerm.POWER_PLUG(), ThermalRampTerm.DRIVER_LIMIT()
    if lowered:
        return (sense, plug, driver, contacts)
    held_back = (contacts, sense, plug, driver)
    return (ThermalRampTerm.LIGHT_WORK(), *held_back) if at_top_clock else held_back
