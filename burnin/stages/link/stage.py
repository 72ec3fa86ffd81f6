"""Link: the idle link is read, traffic put on it, and both ends watched all the while.

Error counters are judged by their differences alone (law 8).
"""

from __future__ import annotations

from burnin.core.errors import EngineError
from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured
from burnin.stages.context import StageContext
from burnin.stages.link.ends_seen import EndsSeen, Needs
from burnin.stages.link.error_readings import take_errors
from burnin.stages.link.expectation import expected_link
from burnin.stages.link.lane_readings import lane_readings
from burnin.stages.link.rate_readings import rate_readings
from burnin.stages.link.settings import LinkCheck
from burnin.stages.link.sums import Traffic
from burnin.stages.link.surroundings import port_target_gts, position_note, surroundings
from burnin.stages.link.traffic import put_traffic
from burnin.stages.link.training_readings import (
    full_link_readings,
    idle_readings,
    loaded_readings,
    slot_readings,
)


def carry_out(context: StageContext[Needs], settings: LinkCheck) -> None:
    """Read the idle link, put traffic on it, read it all the while, compare counters."""
    _check(context, settings, None)


def without_load(context: StageContext[Needs], settings: LinkCheck, reason: Reason) -> None:
    """Where no traffic may be put on it: its width is judged all the same (law 9)."""
    _check(context, settings, reason)


def _check(
    context: StageContext[Needs], settings: LinkCheck, no_traffic: Reason | None
) -> None:
    context.rest(settings.idle_s)
    seen = EndsSeen(context.card)
    for reading in idle_readings(seen.idle):
        context.take(reading)
    held_gts = port_target_gts(context.card)
    told = context.soak_so_far
    sums = Traffic() if told is None else Traffic.from_event(told)
    try:
        if no_traffic is None:
            put_traffic(context, settings, seen, sums)
    except EngineError as error:
        if not isinstance(context.engine, NotMeasured):
            raise
        no_traffic = error.reason
    finally:
        context.note(seen.told())
    link, around = context.card.link(), surroundings(context, held_gts)
    on_the_way = position_note(around.position)
    if on_the_way is not None:
        context.note(on_the_way)
    expected = expected_link(link, settings, around)
    for reading in slot_readings(link, around):
        context.take(reading)
    for reading in full_link_readings(expected):
        context.take(reading)
    for reading in loaded_readings(link, expected, seen, no_traffic):
        context.take(reading)
    take_errors(context, settings, sums, link, no_traffic)
    for reading in lane_readings(seen, sums):
        context.take(reading)
    space = context.card.configuration_space()
    shown = context.bench_shown
    fastest_gts = tuple(seen.card_end.speeds_seen_gts)
    for reading in rate_readings(
        settings, sums, link, space, no_traffic, around.position, shown, fastest_gts
    ):
        context.take(reading)
