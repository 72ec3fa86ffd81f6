"""What a profile asks of the card's own: steps in shares of its power limit, its core clock."""

from __future__ import annotations

from collections.abc import Iterator

from burnin.core.meaning import Reason
from burnin.core.ratings import OwnRatings
from burnin.core.reading import Limit, NotMeasured, Reading, judge, known, not_measured
from burnin.stages.thermal_ramp.meanings import ThermalRampReason, ThermalRampSource
from burnin.stages.thermal_ramp.ramp_trace import RampTrace
from burnin.stages.thermal_ramp.settings import RampStep, ThermalRamp
from burnin.stages.thermal_ramp.settled_readings import mean

CLOCK = "core_clock_share_of_own"
_U_SHARE = 0.01
"""Clocks change from sample to sample by a step of 15 MHz or so (estimate)."""


def in_watts(settings: ThermalRamp, ratings: OwnRatings) -> ThermalRamp | Reason:
    """The same ramp with every share of the card's own limit as watts.

    Where the card tells no limit, a step falls back on its share of work; a step without one
    cannot be held, and the reason is given in place of the ramp.
    """
    if all(step.own_power_share is None for step in settings.steps):
        return settings
    own_w = ratings.own_power_limit_w
    if not known(own_w):
        if any(_needs_limit(step) for step in settings.steps):
            why = own_w.reason if isinstance(own_w, NotMeasured) else _no_limit()
            return ThermalRampReason.OWN_LIMIT_UNKNOWN(reason=why)
        return settings
    steps = tuple(_held(step, known(own_w) or 0.0) for step in settings.steps)
    return settings.model_copy(update={"steps": steps})


def _needs_limit(step: RampStep) -> bool:
    return step.own_power_share is not None and step.load_share is None


def _held(step: RampStep, own_w: float) -> RampStep:
    if step.own_power_share is None:
        return step
    return step.model_copy(
        update={"power_w": step.own_power_share * own_w, "own_power_share": None}
    )


def _no_limit() -> Reason:
    return ThermalRampReason.NO_OWN_LIMIT()


def clock_readings(
    trace: RampTrace, settings: ThermalRamp, ratings: OwnRatings
) -> Iterator[Reading]:
    """The core clock at the end of the last step beside the card's own; where it is asked for."""
    least = settings.core_clock_at_least_share_of_own
    if least is None:
        return
    limit, most = Limit(lower=least), ratings.most_core_clock_mhz
    clock = mean(trace.last_window("core_clock_mhz"))
    if isinstance(most, NotMeasured):
        yield not_measured(CLOCK, "", most.reason, limit=limit)
    elif trace.cut is not None:
        yield not_measured(CLOCK, "", trace.cut, limit=limit)
    elif clock is None or most <= 0.0:
        why = trace.why_unread("core_clock_mhz")
        yield not_measured(CLOCK, "", why, limit=limit)
    else:
        source = ThermalRampSource.OWN_CLOCK(clock_mhz=clock, most_mhz=most)
        yield judge(CLOCK, clock / most, "", limit, uncertainty=_U_SHARE, source=source)
