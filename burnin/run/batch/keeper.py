"""The keeper of a batch: starts a run for each card, shares out power and links, ends with words.

A run that dies, hangs or trips costs the others nothing: what it was given is shared out again once
its process and whoever worked its card are known to be gone, or its card's power has fallen. The
keeper itself watches no card: each run has its own guards. Should the keeper die, every run hears
it, takes its load off and closes its record; nothing more is given to anybody, so that the budget
holds to the end.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from burnin.core.clock import Clock, WallClock, iso
from burnin.core.files.ready import ready
from burnin.core.meaning import Reason
from burnin.core.verdict import RunVerdict
from burnin.record.batches.batch import Batch, CardOfBatch, power_file, write_batch
from burnin.run.batch.budget import Budget
from burnin.run.batch.meanings import BatchNote, BatchReason
from burnin.run.batch.member import KILL, Member
from burnin.run.batch.people import AsksPeople, Nobody, PromptQueue
from burnin.run.batch.power_log import PowerLog
from burnin.run.batch.screen import Screen
from burnin.run.batch.sharing import Sharing
from burnin.run.leave.letters import (
    Asks,
    Began,
    Go,
    HasEnded,
    IsOver,
    OfRun,
    Reads,
    Shows,
    Wants,
    WantsNoMore,
)

_TURN_S = 0.05
_AWAY_S = 5.0
"""A keeper that was stopped, or a bench that slept, has heard nobody for so long."""


@dataclass(frozen=True)
class Patience:
    """How long the keeper waits. `silent_s`: for a sign of life, then a run is given up and its
    process killed; `ready_s`: for the first one, and for the last run to be ready once one is;
    `gone_s`: for a worker, which ends by itself within seconds of its supervisor."""

    silent_s: float = 60.0
    ready_s: float = 90.0
    gone_s: float = 30.0


class Keeper:
    """Carries a batch to its end."""

    def __init__(
        self,
        batch: Batch,
        members: Sequence[Member],
        results: Path,
        budget: Budget | None,
        screen: Screen,
        people: AsksPeople | None = None,
        stop_asked: Callable[[], int] = lambda: 0,
        patience: Patience | None = None,
        clock: Clock | None = None,
    ) -> None:
        """`stop_asked`: the signal that asks all runs to end, 0 while none does.

        Raises OSError where the batch's file cannot be written.
        """
        self.batch, self.members = batch, tuple(members)
        self._results, self._screen = results, screen
        self._prompts = PromptQueue(people or Nobody())
        self._stop_asked, self._stopped = stop_asked, 0
        self._patience, self._clock = patience or Patience(), clock or WallClock()
        write_batch(results, batch)
        self._log = PowerLog(
            power_file(results, batch.batch_id), self._clock, batch.budget_w,
            lambda words: screen.note(BatchNote.NO_POWER_LOG(words=words)),
            simulated=batch.simulated,
        )  # fmt: skip
        self._sharing = Sharing(budget, self._log, screen)
        self._ready_by_s: float | None = None
        self._begun, self._turn_s = False, self._now()

    def seat_other(self, address: str, power_w: float | None, limit_w: float | None) -> None:
        """A card of the bench that takes no part: it draws all the same."""
        self._sharing.ledger.seat(address, power_w, limit_w, self._now())

    def run(self) -> Batch:
        """Start all runs and stay until the last has ended; the batch with every word."""
        try:
            for member in self.members:
                at_rest_w, limit_w = member.power_w, member.limit_w
                self._sharing.ledger.seat(member.address, at_rest_w, limit_w, self._now())
            for member in self.members:
                self._start(member)
            while not all(member.card.ended for member in self.members):
                self.turn()
        finally:
            for member in self.members:
                member.close()
            self._log.close()
        self.batch = replace(self.batch, ended_utc=iso(self._clock.utc()))
        write_batch(self._results, self.batch)
        return self.batch

    def turn(self) -> None:
        """Hear what has come, within a moment, and act on it."""
        self._hear()
        now_s = self._now()
        if now_s - self._turn_s > _AWAY_S:
            for member in self.members:  # the keeper itself stood still: nobody was heard
                member.heard_s = now_s
        self._turn_s = now_s
        self._pass_on_stop()
        self._begin_together(now_s)
        for member in self.members:
            if not member.card.ended:
                self._look_after(member, now_s)
        self._sharing.give(self.members, now_s)
        self._prompts.turn(self.members)

    def _now(self) -> float:
        return self._clock.monotonic_s()

    def _start(self, member: Member) -> None:
        member.heard_s = self._now()
        try:
            member.start()
        except OSError as error:
            self._end(member, BatchReason.NOT_STARTED(words=error.strerror or str(error)))

    def _hear(self) -> None:
        there = {n: m for m in self.members if (n := m.fileno()) is not None}
        if not there:
            time.sleep(_TURN_S)
            return
        for number in ready(there, _TURN_S):
            self._hear_one(there[number])

    def _hear_one(self, member: Member) -> None:
        for letter in member.letters():
            member.heard_s, member.heard = self._now(), True
            self._take(member, letter)

    def _take(self, member: Member, letter: OfRun) -> None:
        match letter:
            case Began(record, run_id):
                member.ready = True
                folder = self._below(record)
                self._changed(member, replace(member.card, record=folder, run_id=run_id))
            case Asks() | IsOver() | Reads():
                self._sharing.take(member, letter, self._now())
            case Shows():
                member.shows = letter
                self._screen.changed(member)
            case Wants():
                member.wants = letter
            case WantsNoMore():
                self._prompts.withdraw(member)
            case HasEnded(verdict, reason):
                word = RunVerdict(verdict) if verdict in set(RunVerdict) else None
                self._changed(member, replace(member.card, word=word, why=reason))

    def _begin_together(self, now_s: float) -> None:
        """All runs begin once all are ready: what one opens disturbs no other's samples."""
        if not self._begun:
            if self._ready_by_s is None and any(member.ready for member in self.members):
                self._ready_by_s = now_s + self._patience.ready_s
            late = self._ready_by_s is not None and now_s >= self._ready_by_s
            self._begun = late or all(m.ready or m.card.ended for m in self.members)
        if self._begun:
            for member in self.members:
                if member.ready and not member.may_begin:
                    member.may_begin = True
                    member.send(Go())

    def _look_after(self, member: Member, now_s: float) -> None:
        """Whether a run has ended, or hangs."""
        member.send_left()
        if member.exit_code() is None:
            self._see_silence(member, now_s)
            return
        self._hear_one(member)
        member.ended_s = member.ended_s or now_s
        left = member.left_workers()
        if left and now_s - member.ended_s < self._patience.gone_s:
            return
        if left:
            self._sharing.ledger.stuck(member.address)
            self._screen.note(BatchNote.WORKER_LEFT(address=member.address, pid=left[0].pid))
        else:
            self._sharing.ledger.gone(member.address, now_s)
        if member.card.word is not None and (member.exit_code() or 0) < 0:
            self._screen.note(BatchNote.ENDED_LATE(address=member.address))
        self._end(member, member.why_no_word(self._patience.silent_s))

    def _see_silence(self, member: Member, now_s: float) -> None:
        silent_s, patience = now_s - member.heard_s, self._patience
        if silent_s < (patience.silent_s if member.heard else patience.ready_s):
            return
        if not member.given_up:
            member.given_up = True
            self._screen.note(BatchNote.HANGS(address=member.address, silent_s=silent_s))
        member.signal(KILL)
        if silent_s > patience.silent_s + patience.ready_s + patience.gone_s:
            # Not even the kernel ends it: a driver waits for its card for ever.
            self._sharing.ledger.stuck(member.address)
            self._end(member, BatchReason.NEVER_GONE(pid=member.pid))

    def _pass_on_stop(self) -> None:
        asked = self._stop_asked()
        if asked and not self._stopped:
            self._stopped = asked
            for member in self.members:
                member.signal(asked)

    def _below(self, record: str) -> str:
        """A record's folder as the batch's file tells it."""
        try:
            return str(Path(record).resolve().relative_to(self._results.resolve()))
        except ValueError:
            return ""

    def _changed(self, member: Member, card: CardOfBatch) -> None:
        """What is known of a card has changed: on disk before anybody is shown it."""
        member.card = card
        self.batch = self.batch.with_card(card)
        write_batch(self._results, self.batch)
        self._screen.changed(member)

    def _end(self, member: Member, why_no_word: Reason) -> None:
        self._prompts.withdraw(member)
        member.waits = None
        why = member.card.why if member.card.word is not None else why_no_word
        self._changed(member, replace(member.card, ended=True, why=why))
