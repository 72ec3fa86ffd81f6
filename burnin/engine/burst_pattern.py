"""A pattern of short slices of work that no other work has, and whether a counter follows it.

On and off for half a second each, in an order drawn from the run's id, as many of the one as of the
other in every four. A counter follows where it is so correlated with the order that chance does not
explain it, at whatever lag and averaging its sensor has. Another run has another order.
"""

from __future__ import annotations

import hashlib
import itertools
import math
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

CHIP_S = 0.5
"""Length of a slice: longer than most sensors average (0.1 s), shorter than clocks take to fall."""
BLOCK_CHIPS = 4
LEAST_CHIPS, MOST_CHIPS = 12, 40
FOLLOWS_T = 5.0
"""Student's t from which a counter follows: by chance once in some 10,000 proofs, counting all lags
and averagings that are tried."""
CLEAR_T = 7.0
"""From here on the pattern may end early, if no other card comes near."""
STRANGER_T = 3.5

_BLOCKS = tuple(
    chips for chips in itertools.product((False, True), repeat=BLOCK_CHIPS) if sum(chips) == 2
)
_LAGS_S = (0.0, 0.1, 0.2, 0.3, 0.45, 0.6, 0.8, 1.0, 1.4)
_AVERAGES_S = (0.0, 0.25, 0.5, 1.0)
_FEWEST_SAMPLES = 8


def chips(seed: str) -> Iterator[bool]:
    """On or off, slice by slice, without end; the same for the same seed.

    >>> from itertools import islice
    >>> first = list(islice(chips("a run"), 40))
    >>> sum(first), first == list(islice(chips("a run"), 40))
    (20, True)
    """
    for number in itertools.count():
        digest = hashlib.sha256(f"{seed}/{number}".encode()).digest()
        # 252 is the largest multiple of six that a byte holds; the bytes above are passed over.
        for byte in digest:
            if byte < 252:
                yield from _BLOCKS[byte % len(_BLOCKS)]


@dataclass(frozen=True)
class Point:
    """A counter's value at a moment, seconds on any clock."""

    at_s: float
    value: float


class Work:
    """When the work was on and off, and how much of any span it was on."""

    def __init__(self) -> None:
        self._at_s: list[float] = []
        self._on: list[bool] = []
        self._on_before_s: list[float] = []

    def switch(self, at_s: float, on: bool) -> None:
        """The work is on or off from this moment on; moments rise."""
        spent = 0.0
        if self._at_s:
            spent = self._on_before_s[-1] + (at_s - self._at_s[-1]) * self._on[-1]
        self._at_s.append(at_s)
        self._on.append(on)
        self._on_before_s.append(spent)

    @property
    def slices(self) -> int:
        """Slices so far."""
        return len(self._at_s)

    def was_on(self, at_s: float) -> bool:
        """Whether it was on at that moment."""
        place = bisect_right(self._at_s, at_s) - 1
        return place >= 0 and self._on[place]

    def share(self, to_s: float, span_s: float) -> float:
        """Share (0 to 1) of the span up to `to_s` in which it was on."""
        if span_s <= 0.0:
            return float(self.was_on(to_s))
        return (self._on_until(to_s) - self._on_until(to_s - span_s)) / span_s

    def _on_until(self, at_s: float) -> float:
        place = bisect_right(self._at_s, at_s) - 1
        if place < 0:
            return 0.0
        return self._on_before_s[place] + (at_s - self._at_s[place]) * self._on[place]


def following(points: Sequence[Point], work: Work) -> float:
    """Student's t of the best correlation of a counter with the work; 0 where there is none.

    Degrees of freedom are those of the slices, of which many samples may fall into one.
    """
    if len(points) < _FEWEST_SAMPLES:
        return 0.0
    values = _without_trend(points)
    if values is None:
        return 0.0
    best = 0.0
    for lag_s, span_s in itertools.product(_LAGS_S, _AVERAGES_S):
        asked = [work.share(point.at_s - lag_s, span_s) for point in points]
        best = max(best, _correlation(values, asked))
    free = min(work.slices, len(points)) - 2
    if free <= 0:
        return 0.0
    return best * math.sqrt(free / max(1e-9, 1.0 - best * best))


def _without_trend(points: Sequence[Point]) -> list[float] | None:
    """Values about their straight line, scaled to length 1; None where nothing is left.

    A card that another run works warms all the while: its power drifts, and follows nothing.
    """
    n = len(points)
    mean_s, mean = sum(p.at_s for p in points) / n, sum(p.value for p in points) / n
    spread = sum((p.at_s - mean_s) ** 2 for p in points)
    slope = 0.0
    if spread > 0.0:
        slope = sum((p.at_s - mean_s) * (p.value - mean) for p in points) / spread
    left = [p.value - mean - slope * (p.at_s - mean_s) for p in points]
    length = math.sqrt(sum(x * x for x in left))
    return [x / length for x in left] if length > 1e-6 * (1.0 + abs(mean)) else None


def _correlation(unit: Sequence[float], asked: Sequence[float]) -> float:
    """Of values whose mean is 0 and length 1 with any others."""
    mean = sum(asked) / len(asked)
    squares = sum(y * y for y in asked) - len(asked) * mean * mean
    if squares <= 1e-9:
        return 0.0
    return sum(x * y for x, y in zip(unit, asked, strict=True)) / math.sqrt(squares)
