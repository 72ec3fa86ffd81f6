"""What counters stood at, put on record before it is used, so that a cut loses no start."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from burnin.core.events import CounterAt, CountersRead
from burnin.core.reading import NotMeasured
from burnin.stages.context import StageContext
from burnin.stages.counters import Counted, went_on


def counters_read(stage: str, of: str, now: Sequence[Counted] | NotMeasured) -> CountersRead:
    """The event that says what counters stand at, or why they cannot be read."""
    if isinstance(now, NotMeasured):
        return CountersRead(stage, of, (), now.reason)
    told = tuple(CounterAt(c.end, c.name, c.value, c.modulus) for c in now)
    return CountersRead(stage, of, told)


def counters_at_start(
    context: StageContext[Any], of: str, now: Sequence[Counted] | NotMeasured
) -> Sequence[Counted] | NotMeasured:
    """What a stage's counters stood at when it first began, before any interruption.

    Where one of them fell since, the bench was off in between, and all of them count from now.
    """
    told = context.interrupted.counters.get(of)
    then = told.counters if told is not None else ()
    if then and not isinstance(now, NotMeasured) and len(went_on(then, now)) == len(then):
        return then
    context.publish(counters_read(context.stage, of, now))
    return now
