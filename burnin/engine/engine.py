"""The Protocol that every engine answers, whichever API works the card."""

from __future__ import annotations

from typing import Protocol, runtime_checkable

from burnin.core.opening import EngineDescription
from burnin.engine.job import Job, WorkEvent


@runtime_checkable
class WorksInProcess(Protocol):
    """An engine whose work is done by a process that a driver may name."""

    def process_id(self) -> int | None:
        """The process that works the card; None while there is none."""
        ...


@runtime_checkable
class HearsPower(Protocol):
    """An engine that can be told what the card draws, to choose the work that draws most."""

    def hear_power(self, power_w: float) -> None:
        """The card's power by its newest sample."""
        ...


class Engine(Protocol):
    """Makes a card work, one job at a time, under a dead-man switch.

    The supervisor calls `beat` only after a fresh sample has passed every guard; without a beat
    no further slice is queued, and later the worker ends. Slices last at most 20 ms.
    """

    def description(self) -> EngineDescription:
        """What works the card."""
        ...

    def begin(self, job: Job) -> None:
        """Start a job and return at once; raises EngineError if one is running."""
        ...

    def poll(self) -> tuple[WorkEvent, ...]:
        """Events since the last call, oldest first; never blocks.

        Raises WorkerEnded when the worker died without ending its job.
        """
        ...

    def beat(self) -> None:
        """The supervisor lives and the last sample passed its guards."""
        ...

    def set_share(self, share: float) -> None:
        """Share of each slice that is work (0 to 1), for an arithmetic load that runs."""
        ...

    def stop(self) -> float:
        """End the job: no work is queued when this returns, which is within 0.1 s.

        Returns the seconds until the worker confirmed; kills it where it does not.
        """
        ...

    def close(self) -> None:
        """Stop, and end the worker process."""
        ...
