"""Shares out the bench's power and links to the runs of a batch: letters in, leave out."""

from __future__ import annotations

from collections.abc import Sequence

from burnin.run.batch.budget import Budget
from burnin.run.batch.ledger import Ledger, Told
from burnin.run.batch.meanings import BatchNote
from burnin.run.batch.member import Member
from burnin.run.batch.screen import Screen
from burnin.run.leave.giver import Answer, Given, Never, Wait
from burnin.run.leave.letters import (
    Asks,
    IsAtRest,
    IsOver,
    MayLoad,
    MayNever,
    MustWait,
    Reads,
)
from burnin.run.leave.meanings import LeaveTerm
from burnin.run.leave.need import Need


class Sharing:
    """The ledger of a batch, and what its runs are told of it."""

    def __init__(self, budget: Budget | None, log: Told, screen: Screen) -> None:
        """`log` has each change on disk before a letter of it is sent."""
        self._log, self._screen = log, screen
        self.ledger = Ledger(budget, self._counted)

    def take(self, member: Member, letter: Asks | IsOver | Reads, now_s: float) -> None:
        """What a run asks for, gives back, or draws."""
        match letter:
            case Asks():
                ways = None if letter.ways is None else frozenset(letter.ways)
                bounded_by = LeaveTerm.BY_OWN_LIMIT()
                need = Need(letter.stage, letter.watts, letter.step_w, bounded_by, ways)
                member.asks, member.waits, member.over = letter, None, False
                self.ledger.ask(member.address, need, now_s)
            case IsOver():
                member.waits, member.over = None, True
                self.ledger.over(member.address, now_s)
            case Reads(power_w):
                self.ledger.reads(member.address, power_w, now_s)

    def give(self, members: Sequence[Member], now_s: float) -> None:
        """Answer whoever waits, and tell whose card counts as at rest again."""
        by_address = {member.address: member for member in members}
        for address, answer in self.ledger.answers(now_s).items():
            member = by_address.get(address)
            if member is not None and member.asks is not None:
                self._tell(member, member.asks.number, answer)
        for member in members:
            if member.over and member.asks is not None and self.ledger.at_rest(member.address):
                member.over = False
                member.send(IsAtRest(member.asks.number))

    def _tell(self, member: Member, number: int, answer: Answer) -> None:
        before, member.waits = member.waits, None
        match answer:
            case Given(bounded):
                member.send(MayLoad(number, bounded))
            case Never(why):
                member.send(MayNever(number, why))
            case Wait(why):
                member.waits = why
                if before is not None and before.code == why.code:
                    return  # how many watts are free by now is no news to the run
                member.send(MustWait(number, why))
        self._screen.changed(member)

    def _counted(self, at_s: float, card: str, what: str, watts: float) -> None:
        self._log(at_s, card, what, watts)
        if what == "draws more":
            self._screen.note(BatchNote.DRAWS_MORE(address=card, power_w=watts))
