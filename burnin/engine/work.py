"""A job under way: slices to be queued one by one, a result at any moment, memory to give back."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Protocol

from burnin.engine.job import WorkEvent

Emit = Callable[[WorkEvent], None]


class LoadShare:
    """The share of full work that is asked for now (0 to 1); the supervisor may change it."""

    power_w: float | None = None
    """What the card draws, as the supervisor last told it."""

    def __init__(self, share: float) -> None:
        self.set(share)

    def set(self, share: float) -> None:
        """Ask for another share; clipped to 0 to 1."""
        self.share = min(1.0, max(0.0, share))


class Work(Protocol):
    """One job under way."""

    def slices(self) -> Iterator[float]:
        """Each step yields the seconds to rest and queues a slice when it is resumed.

        Closing the iterator waits for what is queued (at most two slices) and queues no more.
        """
        ...

    def paused(self) -> None:
        """The next slice was kept waiting: how long what is queued took was not seen."""
        ...

    def settle(self) -> None:
        """Wait for what is queued and take in what it found."""
        ...

    def result(self) -> WorkEvent:
        """The job's last event, also of a job that was stopped half-way."""
        ...

    def release(self) -> None:
        """Give memory back; may take longer than a stop is allowed to."""
        ...
