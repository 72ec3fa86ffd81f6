"""What a job is to a simulated card: an activity, and a result that grows with time."""

from __future__ import annotations

from typing import Protocol

from burnin.core.meaning import Note, Term
from burnin.engine.job import LinkTraffic, LoadResult, Progress, TrafficResult, WorkEvent
from burnin.engine.meanings import EngineTerm
from burnin.sim.engine.meanings import SimNote
from burnin.sim.physics.machine import Machine
from burnin.sim.physics.power import ARITHMETIC_MEMORY_SHARE, Activity

_DIRECTIONS: dict[str, Term] = {
    "to_card": EngineTerm.TO_CARD(),
    "to_host": EngineTerm.TO_HOST(),
    "both": EngineTerm.BOTH(),
}


class Work(Protocol):
    """One job that goes on."""

    def plan(self) -> Note:
        """What will be done."""
        ...

    def activity(self) -> Activity:
        """What the card is asked to do now."""
        ...

    def worked(self, seconds: float) -> None:
        """The card has done so for that long."""
        ...

    def fresh(self) -> tuple[WorkEvent, ...]:
        """What was found since the last call, beside progress."""
        ...

    def progress(self) -> Progress:
        """How far it is."""
        ...

    def done(self) -> bool:
        """Whether nothing is left to do."""
        ...

    def result(self) -> WorkEvent:
        """What came out so far."""
        ...


class ArithmeticWork:
    """An arithmetic load; ends only when it is stopped."""

    def __init__(self, machine: Machine, share: float) -> None:
        self._machine = machine
        self.share = share
        self._seconds = 0.0
        self._operations = 0.0

    def plan(self) -> Note:
        """What will be done."""
        return SimNote.PLAN_LOAD(share=self.share)

    def activity(self) -> Activity:
        """The core at the asked share, with the little memory traffic that it needs."""
        return Activity(core=self.share, memory=ARITHMETIC_MEMORY_SHARE * self.share)

    def worked(self, seconds: float) -> None:
        """Operations follow share and clock."""
        card = self._machine.scenario.card
        speed = self._machine.power.clock_mhz / card.max_clock_mhz
        self._seconds += seconds
        self._operations += card.peak_tflops * 1e12 * self.share * speed * seconds

    def fresh(self) -> tuple[WorkEvent, ...]:
        """Nothing is found on the way."""
        return ()

    def progress(self) -> Progress:
        """Operations so far; the total is open."""
        return Progress(self._operations, 0.0, "operations")

    def done(self) -> bool:
        """Never by itself."""
        return False

    def result(self) -> LoadResult:
        """Operations done."""
        return LoadResult(self._seconds, self._operations)


class TrafficWork:
    """Copies over the link for a while, as fast as width, speed and replays let them."""

    def __init__(self, machine: Machine, job: LinkTraffic) -> None:
        self._machine = machine
        self._job = job
        self._seconds = 0.0
        self._to_card = 0.0
        self._to_host = 0.0

    def plan(self) -> Note:
        """What will be done."""
        direction = _DIRECTIONS[self._job.direction]
        return SimNote.PLAN_TRAFFIC(direction=direction, seconds=self._job.seconds)

    def activity(self) -> Activity:
        """The link's payload ceiling in the asked directions."""
        both = 0.75 if self._job.direction == "both" else 1.0
        return Activity(
            memory=0.05,
            link_to_card=both if self._job.direction != "to_host" else 0.0,
            link_to_host=both if self._job.direction != "to_card" else 0.0,
        )

    def worked(self, seconds: float) -> None:
        """Bytes follow the link's present rate."""
        rate = self._machine.link.payload_gbs(self._job.direction == "both") * 1e9
        self._seconds += seconds
        if self._job.direction != "to_host":
            self._to_card += rate * seconds
        if self._job.direction != "to_card":
            self._to_host += rate * seconds

    @property
    def moved_bytes(self) -> float:
        """Bytes that went either way so far."""
        return self._to_card + self._to_host

    def fresh(self) -> tuple[WorkEvent, ...]:
        """Nothing is found on the way."""
        return ()

    def progress(self) -> Progress:
        """Seconds so far."""
        return Progress(min(self._seconds, self._job.seconds), self._job.seconds, "s")

    def done(self) -> bool:
        """Whether the asked seconds are over."""
        return self._seconds >= self._job.seconds - 1e-6

    def result(self) -> TrafficResult:
        """Bytes and mean rates; the link layer repeats what arrived wrong, so no word stays so."""
        span = max(self._seconds, 1e-9)
        return TrafficResult(
            seconds=self._seconds,
            to_card_bytes=round(self._to_card),
            to_host_bytes=round(self._to_host),
            to_card_gbs=self._to_card / span / 1e9,
            to_host_gbs=self._to_host / span / 1e9,
            wrong_words=0,
        )
