"""Prompts of a batch: one at a time over all its cards, in the order of the bench."""

from __future__ import annotations

import time
from collections.abc import Sequence
from typing import Protocol

from burnin.core.meaning import Prompt
from burnin.run.batch.member import Member
from burnin.run.leave.letters import Answered, Wants


class AsksPeople(Protocol):
    """Asks the technician for one card, without holding up the keeper."""

    def ask(self, member: Member, prompt: Prompt, timeout_s: float) -> None:
        """Put a prompt; only one lies open at a time."""
        ...

    def answer(self) -> tuple[bool, str | None]:
        """Whether the open prompt is over, and its answer."""
        ...

    def withdraw(self) -> None:
        """Nobody is to answer the open prompt any more."""
        ...


class Nobody:
    """Where nobody sits: a prompt lies open for its time, as the page may answer it meanwhile."""

    def __init__(self) -> None:
        self._until_s = 0.0

    def ask(self, member: Member, prompt: Prompt, timeout_s: float) -> None:  # noqa: ARG002
        """Nobody hears it here."""
        self._until_s = time.monotonic() + timeout_s

    def answer(self) -> tuple[bool, str | None]:
        """None, when its time is over."""
        return time.monotonic() >= self._until_s, None

    def withdraw(self) -> None:
        """Nothing is shown."""


class PromptQueue:
    """Lets cards wait for their prompts; no time of a prompt runs before it is shown."""

    def __init__(self, people: AsksPeople) -> None:
        self._people = people
        self._asked: Member | None = None
        self._put: Wants | None = None

    def withdraw(self, member: Member) -> None:
        """A card asks no more."""
        if self._asked is member:
            self._people.withdraw()
            self._asked = None
        member.wants = None

    def turn(self, members: Sequence[Member]) -> None:
        """Hand on an answer, and show the next prompt."""
        if self._asked is not None:
            if self._asked.card.ended or self._asked.wants is not self._put:
                self._people.withdraw()  # whatever is answered, nobody asks it any more
                self._asked = None
            elif not self._handed_on(self._asked):
                return
        for member in members:
            if member.wants is not None and not member.card.ended:
                self._asked, self._put = member, member.wants
                self._people.ask(member, member.wants.prompt, member.wants.timeout_s)
                return

    def _handed_on(self, member: Member) -> bool:
        """Whether the open prompt is over; its answer is sent to the run that put it."""
        over, text = self._people.answer()
        if over:
            if member.wants is not None:
                member.send(Answered(member.wants.number, text))
            member.wants = self._asked = None
        return over
