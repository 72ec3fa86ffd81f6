"""A slice that was queued on a card.

It lasts about as long as the job's `SliceSize` expects, and `finish` waits for it. `finish` raises
DeviceLost when the card does not answer any more.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar

T_co = TypeVar("T_co", covariant=True)
T = TypeVar("T")


class Queued(Protocol[T_co]):
    """One slice on the card."""

    def done(self) -> bool | None:
        """Whether `finish` would not wait; None where only waiting tells."""
        ...

    def finish(self) -> T_co:
        """Wait until it is done; what it found."""
        ...


@dataclass(frozen=True)
class QueuedCall(Generic[T]):
    """A slice that is waited for by calling a function."""

    wait: Callable[[], T]
    come: Callable[[], bool] | None = None

    def done(self) -> bool | None:
        """Whether it is done; None where only waiting tells."""
        return self.come() if self.come is not None else None

    def finish(self) -> T:
        """Wait until it is done; what it found."""
        return self.wait()
