"""Under load: a power is held, and the technician measures what the profile asks for."""

from __future__ import annotations

from burnin.core.errors import ReasonedError
from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured, not_measured
from burnin.engine.job import ArithmeticLoad
from burnin.guard.sampler import LoadStopped
from burnin.stages.context import StageContext
from burnin.stages.under_load.asked import missing
from burnin.stages.under_load.course import Course, Needs
from burnin.stages.under_load.meanings import UnderLoadNote, UnderLoadReason
from burnin.stages.under_load.settings import UnderLoad
from burnin.stages.working import steady_load
from burnin.thermal.inputs import Plan

_SPARE_S = 1.0


def carry_out(context: StageContext[Needs], settings: UnderLoad) -> None:
    """Hold the power, ask for each point; readings are taken however the load ends."""
    points = context.under_load
    power_w = _power_w(context, settings)
    if isinstance(power_w, NotMeasured):
        for point in points:
            context.take(missing(point, power_w.reason))
        return
    context.promise(UnderLoadNote.CAUTION(), UnderLoadNote.HELD(power_w=power_w))
    course = Course(context, settings, points, power_w)
    why: Reason = UnderLoadReason.ENDED_BEFORE()
    try:
        _hold(context, settings, course, power_w)
        course.end(why)
    except ReasonedError as error:
        why = error.reason
        if isinstance(error, LoadStopped):
            context.tell_trip(error.trip)
        course.end(why)
        raise
    finally:
        context.plan_load(None)
        for reading in course.readings(why):
            context.take(reading)
        if not course.any_measured:
            # Where each point may be left out, all of them may not.
            context.take(not_measured("any_measured", "", UnderLoadReason.NO_ANSWER_AT_ALL()))


def _power_w(
    context: StageContext[Needs], settings: UnderLoad
) -> float | NotMeasured:
    """What is to be held, W."""
    if settings.own_power_share is None:
        assert settings.power_w is not None  # the profile was refused otherwise
        return settings.power_w
    own_w = context.card.ratings().own_power_limit_w
    if isinstance(own_w, NotMeasured):
        return NotMeasured(UnderLoadReason.OWN_LIMIT_UNKNOWN(reason=own_w.reason))
    return settings.own_power_share * own_w


def _hold(
    context: StageContext[Needs], settings: UnderLoad, course: Course, power_w: float
) -> None:
    seconds = course.longest_s() + _SPARE_S
    now_s = context.watch.elapsed_s()
    with steady_load(context, ArithmeticLoad(0.0)) as load:
        context.plan_load(
            Plan(((now_s, power_w),), now_s + seconds), UnderLoadNote.HELD(power_w=power_w)
        )
        load.hold_power(
            power_w,
            seconds,
            course.on_sample,
            rise_w_per_s=settings.power_rise_w_per_s,
            share_without_sensor=settings.share_without_sensor,
        )
