"""A stage waits for leave with its load off, sampling all the while, and gives it back after.

No time-out of the stage runs meanwhile: it has not begun. What the wait was for, and how long it
took, stands in the journal.
"""

from __future__ import annotations

import time
from typing import Any

from burnin.card.capabilities import Card
from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured
from burnin.profile.model import Profile, Stage
from burnin.run.leave.giver import Given, LeaveGiver, Never, Wait
from burnin.run.leave.meanings import LeaveNote
from burnin.run.leave.need import Need, need_of
from burnin.stages.context import StageContext

_AT_ONCE_S = 0.05
"""Where nothing is in the way the answer is there by then."""
_FALLS_WITHIN_S = 5.0
"""A card's power is down within so long after its load; what is not taken back by then follows."""


def leave_for(
    context: StageContext[Any], giver: LeaveGiver, stage: Stage, profile: Profile, card: Card
) -> Reason | None:
    """Wait until the stage's load may begin; why it never may, or nothing.

    Raises LoadStopped and StoppedByHand as every stage does.
    """
    if isinstance(context.engine, NotMeasured):
        return None  # nothing will work the card
    need = need_of(context.stage, stage, profile, card)
    began_s = context.clock.monotonic_s()
    told: set[str] = set()
    giver.ask(need)
    giver.answer(_AT_ONCE_S)
    while True:
        turn_s = time.monotonic()
        match giver.answer():
            case Given(bounded):
                waited_s = context.clock.monotonic_s() - began_s
                _note_given(context, need, waited_s, bounded=bounded)
                return None
            case Never(why):
                return why
            case Wait(why):
                if why.code not in told:
                    told.add(why.code)
                    context.note(LeaveNote.WAITS(reason=why))
        context.watch.look(context.stage)
        _pause(context, giver, turn_s)


def give_back(context: StageContext[Any], giver: LeaveGiver) -> None:
    """The load is off: sample on until the power has fallen, so that others may have its watts."""
    giver.over()
    end_s = time.monotonic() + _FALLS_WITHIN_S
    while not giver.at_rest() and time.monotonic() < end_s:
        turn_s = time.monotonic()
        if not context.watch.cools(context.stage):
            return
        _pause(context, giver, turn_s, resting=True)


def _note_given(
    context: StageContext[Any], need: Need, waited_s: float, *, bounded: bool
) -> None:
    if bounded:
        context.note(
            LeaveNote.GIVEN(needed_w=need.watts, bounded_by=need.bounded_by, waited_s=waited_s)
        )


def _pause(
    context: StageContext[Any], giver: LeaveGiver, turn_s: float, *, resting: bool = False
) -> None:
    """One period of the samples, on the wall's clock too: a simulated one may run ahead of it."""
    context.watch.pause()
    left_s = context.sample_interval_s - (time.monotonic() - turn_s)
    if left_s <= 0.0:
        return
    if resting:
        giver.at_rest(left_s)
    else:
        giver.answer(left_s)
