"""Movement: traffic on the link while the technician moves the card, one place at a time."""

from __future__ import annotations

from contextlib import closing

from burnin.core.errors import DeviceLost, ReasonedError
from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured, not_measured
from burnin.engine.job import LinkTraffic, Started
from burnin.guard.sampler import LoadStopped
from burnin.stages.context import StageContext
from burnin.stages.movement.course import Course
from burnin.stages.movement.looks import Looks, Needs
from burnin.stages.movement.meanings import MovementNote, MovementReason
from burnin.stages.movement.places import places
from burnin.stages.movement.settings import Movement
from burnin.stages.working import work

_BEGINS_WITHIN_S = 5.0
"""An engine may take so long until its work begins."""


def carry_out(context: StageContext[Needs], settings: Movement) -> None:
    """Watch the card untouched, then each movement; readings are taken however the load ends."""
    looks = Looks(context.card, context.clock.monotonic_s)
    if "screen_cables" in settings.places and looks.outputs_unread is not None:
        context.take(not_measured("came_cable_moved", "", looks.outputs_unread))
    todo = tuple(places(settings, looks.screens))
    if not todo and looks.outputs_unread is None:
        context.take(not_measured("anything_moved", "", MovementReason.NOTHING_TO_MOVE()))
    counters = context.card.error_counters()
    if isinstance(counters, NotMeasured):
        context.take(not_measured("came_with_errors", "", counters.reason, required=False))
    context.promise(MovementNote.CAUTION())
    course = Course(context, settings, todo, looks)
    why: Reason = MovementReason.ENDED_BEFORE()
    try:
        _work_until_done(context, course)
    except ReasonedError as error:
        why = error.reason
        if isinstance(error, LoadStopped):
            context.tell_trip(error.trip)
        course.end(why, gone=isinstance(error, DeviceLost))
        raise
    finally:
        context.plan_load(None)
        for reading in course.readings(why):
            context.take(reading)


def _work_until_done(context: StageContext[Needs], course: Course) -> None:
    if isinstance(context.engine, NotMeasured):
        course.end(context.engine.reason)
        return
    seconds = course.longest_s() + _BEGINS_WITHIN_S
    context.load_lasts(seconds)
    job = LinkTraffic(seconds)
    with closing(work(context, job, on_sample=course.on_sample, between=course.look)) as events:
        for event in events:
            if isinstance(event, Started):
                course.traffic_began()
    if not course.done:
        course.end(MovementReason.ENDED_BEFORE())
