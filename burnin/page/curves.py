"""Curves of any length in few points, so that no peak hides: min-max decimation, as they come.

Time is cut into spans of one width; of each curve the lowest and the highest value of every span
are kept. When there are too many spans each two become one, twice as wide. What a peak was stays
for ever, only its moment is known less well.

That the extremes of each column of a screen are what a line needs: Jugel and others, M4,
Proceedings of the VLDB Endowment 7 (2014), 797 to 808; cited from memory.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

MOST_SPANS = 600
"""A screen draws about as many columns; more could not be told apart."""
FIRST_WIDTH_S = 0.5


@dataclass
class Span:
    """Lowest and highest of each curve in one span, None where nothing was read.

    `revision`: of the curves when this span last changed.
    """

    low: list[float | None]
    high: list[float | None]
    revision: int


class Curves:
    """Several curves over the same time; values that are no numbers are gaps."""

    def __init__(self, names: Sequence[str], most: int = MOST_SPANS) -> None:
        self.names, self._most = tuple(names), most
        self.width_s = FIRST_WIDTH_S
        self.spans: dict[int, Span] = {}
        self.revision, self.generation = 0, 0
        self._first, self._last = math.inf, -math.inf

    def add(self, at_s: float, values: Sequence[float | None]) -> None:
        """One moment of all curves."""
        if not math.isfinite(at_s) or abs(at_s) > 1e9:
            return
        self.revision += 1
        place = math.floor(at_s / self.width_s)
        span = self.spans.get(place)
        if span is None:
            gaps: list[float | None] = [None] * len(self.names)
            span = self.spans[place] = Span(list(gaps), list(gaps), self.revision)
        span.revision = self.revision
        self._first = min(place, self._first)
        self._last = max(place, self._last)
        for number, value in enumerate(values):
            if value is not None and math.isfinite(value):
                _widen(span, number, value, value)
        while self._last - self._first >= self._most:
            self._merge()

    def since(self, revision: int) -> dict[str, object]:
        """The spans that changed after a revision, as JSON holds them; 0: all."""
        found = sorted((p, s) for p, s in self.spans.items() if s.revision > revision)
        return {
            "width_s": self.width_s,
            "names": list(self.names),
            "at": [place for place, _ in found],
            "low": [span.low for _, span in found],
            "high": [span.high for _, span in found],
        }

    def _merge(self) -> None:
        merged: dict[int, Span] = {}
        for place, span in self.spans.items():
            into = merged.get(place // 2)
            if into is None:
                merged[place // 2] = span
                continue
            into.revision = max(into.revision, span.revision)
            for number, (low, high) in enumerate(zip(span.low, span.high, strict=True)):
                if low is not None and high is not None:
                    _widen(into, number, low, high)
        self.spans, self.width_s = merged, self.width_s * 2
        self.generation += 1
        self._first, self._last = min(merged), max(merged)


def _widen(span: Span, number: int, low: float, high: float) -> None:
    lowest, highest = span.low[number], span.high[number]
    span.low[number] = low if lowest is None else min(lowest, low)
    span.high[number] = high if highest is None else max(highest, high)
