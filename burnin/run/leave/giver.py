"""The seam: who gives leave to load a card, and who does where nobody has to be asked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from burnin.core.events import Event, Publish, SampleTaken
from burnin.core.meaning import Reason
from burnin.core.sample import Sample
from burnin.run.leave.need import Need


@dataclass(frozen=True)
class Given:
    """The load may begin; `bounded`: somebody keeps a budget for supply and circuit."""

    bounded: bool = True


@dataclass(frozen=True)
class Wait:
    """Not yet, and why."""

    why: Reason


@dataclass(frozen=True)
class Never:
    """Not in this run, and why: it could not fit whatever the others do."""

    why: Reason


Answer = Given | Wait | Never


class LeaveGiver(Protocol):
    """Gives leave for one stage after the other; nothing here waits longer than it is told."""

    def ask(self, need: Need) -> None:
        """Ask for what a stage needs; nothing is loaded before the answer."""
        ...

    def answer(self, wait_s: float = 0.0) -> Answer:
        """The answer as far as it is known, after `wait_s` at most."""
        ...

    def over(self) -> None:
        """The load is off: what was given may be taken back as the card's power falls."""
        ...

    def see(self, sample: Sample) -> None:
        """A sample of the card, for whoever shares out the power."""
        ...

    def at_rest(self, wait_s: float = 0.0) -> bool:
        """Whether the card counts as at rest again, after `wait_s` at most."""
        ...


class AlwaysGiven:
    """A card that is burnt in alone: the technician's bench is theirs."""

    def ask(self, need: Need) -> None:
        """Nobody has to be asked."""

    def answer(self, wait_s: float = 0.0) -> Answer:  # noqa: ARG002
        """At once."""
        return Given(bounded=False)

    def over(self) -> None:
        """Nothing was given."""

    def see(self, sample: Sample) -> None:
        """Nobody looks."""

    def at_rest(self, wait_s: float = 0.0) -> bool:  # noqa: ARG002
        """Nobody waits for its watts."""
        return True


def seeing(giver: LeaveGiver, publish: Publish) -> Publish:
    """Publish, and let who gives leave see each sample once it is on record."""

    def put(event: Event) -> None:
        publish(event)
        if isinstance(event, SampleTaken):
            giver.see(event.sample)

    return put
