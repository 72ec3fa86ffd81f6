"""Work in slices: how much fits into one, at most two of them queued, and rest between them."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import ClassVar, Generic, TypeVar

from burnin.engine.device.queued import Queued

T = TypeVar("T")

SLICE_S = 0.008
"""Work that a slice aims at; two of them are queued, and none may last 20 ms."""
LONGEST_SLICE_S = 0.020
QUEUED_SLICES = 2
UNANSWERED_S = 0.25
"""A slice that is not done by then is waited for, so that whoever watches over waits can see it."""


@dataclass
class Scale:
    """What `part` of its whole amount a slice is where several works share a card.

    Whole amounts are learnt from slices that run alone: while `learns`.
    """

    part: float = 1.0
    learns: bool = True


class SliceSize:
    """Learns how much work takes `target_s`: a slow slice counts at once, a fast one by doubling.

    Amounts are multiples of `grain` between `grain` and `largest`.
    """

    def __init__(
        self,
        first: int,
        grain: int,
        largest: int,
        target_s: float = SLICE_S,
        scale: Scale | None = None,
    ) -> None:
        self._scale = scale or Scale()
        self._grain = grain
        self._largest = max(grain, largest)
        self._target_s = target_s
        self._amount = self._clip(first)

    def amount(self, share: float = 1.0) -> int:
        """Work for the next slice; `share` of the full amount."""
        return self._clip(int(self._amount * share * self._scale.part))

    def took(self, amount: int, seconds: float) -> None:
        """`amount` of work lasted `seconds`.

        A small part of the full amount may only teach that more fits: what it takes beyond the
        expected is the cost of queueing.
        """
        if not self._scale.learns:
            return
        ideal = int(amount * self._target_s / max(seconds, 1e-6))
        if ideal > self._amount:
            self._amount = self._clip(min(ideal, 2 * self._amount))
        elif amount * 2 > self._amount or seconds > self._target_s:
            self._amount = self._clip(ideal)

    def _clip(self, amount: int) -> int:
        return max(self._grain, min(self._largest, amount) // self._grain * self._grain)


@dataclass
class _Waiting(Generic[T]):
    queued: Queued[T]
    submitted_s: float
    settle: Callable[[T, float], None]


class Pipeline(Generic[T]):
    """At most QUEUED_SLICES slices on the card; the oldest is waited for when one more comes.

    Where several works share a card, one that waited for its own slice would keep the others from
    queueing theirs: with `waits` False it does not, and whoever lets them take turns asks
    `has_room` before.

    A slice's time is counted from its submission or the end of the one before, whichever is
    later; it is NaN after a pause, when nobody watched it end.

    `on_wait` is told when the card is waited for, and when no longer: one process works one card,
    and whoever watches over the process sets it.
    """

    on_wait: ClassVar[Callable[[bool], None]] = staticmethod(lambda _: None)

    def __init__(self, now_s: Callable[[], float] = time.perf_counter) -> None:
        self._now_s = now_s
        self._waiting: deque[_Waiting[T]] = deque()
        self._last_end_s = 0.0
        self._unwatched = 0
        self.waits = True
        self.last_slice_s = float("nan")
        self.busy_s = 0.0
        self.longest_slice_s = 0.0

    def __len__(self) -> int:
        return len(self._waiting)

    def push(self, queued: Queued[T], settle: Callable[[T, float], None]) -> None:
        """Add a queued slice; `settle` gets what it found and its seconds."""
        self._waiting.append(_Waiting(queued, self._now_s(), settle))

    def make_room(self) -> None:
        """Wait until one more slice may be queued."""
        while self.waits and len(self._waiting) >= QUEUED_SLICES:
            self._finish_oldest(settled=True)

    def has_room(self) -> bool:
        """Take in what is done; whether one more slice may be queued."""
        while self._waiting and self._is_over(self._waiting[0]):
            self._finish_oldest(settled=True)
        return len(self._waiting) < QUEUED_SLICES

    def _is_over(self, oldest: _Waiting[T]) -> bool:
        """Whether it is done, or is to be waited for: as nothing else tells, or for too long."""
        done = oldest.queued.done()
        if done is None:
            return len(self._waiting) >= QUEUED_SLICES
        since_s = max(oldest.submitted_s, self._last_end_s)
        return done or self._now_s() - since_s > UNANSWERED_S

    def drain(self) -> None:
        """Wait for all, and settle them."""
        while self._waiting:
            self._finish_oldest(settled=True)

    def abandon(self) -> None:
        """Wait for all; what they found is dropped."""
        while self._waiting:
            self._finish_oldest(settled=False)

    def paused(self) -> None:
        """Nobody watched for a while: times of what is queued now say nothing."""
        self._unwatched = len(self._waiting)

    def _finish_oldest(self, *, settled: bool) -> None:
        oldest = self._waiting.popleft()
        Pipeline.on_wait(True)
        found = oldest.queued.finish()
        Pipeline.on_wait(False)
        end_s = self._now_s()
        seconds = end_s - max(oldest.submitted_s, self._last_end_s)
        self._last_end_s = end_s
        if self._unwatched:
            self._unwatched -= 1
            seconds = float("nan")
        else:
            self.busy_s += seconds
            self.last_slice_s = seconds
            self.longest_slice_s = max(self.longest_slice_s, seconds)
        if settled:
            oldest.settle(found, seconds)


class Pace(Generic[T]):
    """Rests between slices so that the card works only `duty` of the time.

    `next_slice` yields the seconds to rest: whoever drives the job decides whether and when the
    next slice may be queued, and says where it waited for longer (`Work.paused`).
    """

    def __init__(self, pipeline: Pipeline[T], duty: float) -> None:
        self._pipeline = pipeline
        self._duty = min(1.0, max(0.001, duty))
        self._rested_for_s = 0.0

    def next_slice(self) -> Iterator[float]:
        """Make room for one more slice, rest if the duty asks for it, and ask to go on."""
        rest_s = 0.0
        if self._duty < 1.0:
            self._pipeline.drain()
            busy_s = self._pipeline.busy_s - self._rested_for_s
            self._rested_for_s = self._pipeline.busy_s
            rest_s = busy_s * (1.0 - self._duty) / self._duty
        else:
            self._pipeline.make_room()
        yield rest_s
