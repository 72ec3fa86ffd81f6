"""One pass over the test area in slices: write, check, march, hammer; no failing word is lost.

A check lists failing words up to the size of its list. Where more fail, the span is checked again
in halves; beyond the job's list limit words are counted by a kernel that needs no list. A march
element overwrites what it reads, so it leaves tiles alone that no longer fit into the list, and
they are treated again.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from functools import partial

from burnin.engine.device.area import EVERY_TILE, GRAIN_WORDS, Area, Findings, Span, Tally, Tiles
from burnin.engine.device.layout import halves, spans
from burnin.engine.device.queued import Queued
from burnin.engine.device.recipes import Recipe, words_of
from burnin.engine.device.slices import Pace, Pipeline, Scale, SliceSize
from burnin.engine.job import FailingWord
from burnin.engine.memory.failing_words import FailingWords

FIRST_SLICE_WORDS = 1 << 20
HAMMER_WINDOW_WORDS = 1 << 27
"""512 MiB: half of it is read in turn, which is more than a card's cache holds."""

Found = Findings | Tally | None


class Sweep:
    """Passes over an area; `failing` keeps what is found, `moved` hears of bytes gone through."""

    def __init__(
        self,
        area: Area,
        duty: float,
        failing: FailingWords,
        moved: Callable[[int], None],
        found: Callable[[FailingWord], None],
        scale: Scale | None = None,
    ) -> None:
        self._scale = scale
        self._area = area
        self._failing = failing
        self._moved = moved
        self._found = found
        self.pipeline: Pipeline[Found] = Pipeline()
        self._pace = Pace(self.pipeline, duty)
        self._sizes: dict[str, SliceSize] = {}
        self._overflowed: list[Span] = []
        self._skipped: list[Span] = []
        self._pattern, self._step, self._round = "", 0, 0
        self._written = False

    def looking_for(self, pattern: str, step: int, round_number: int) -> None:
        """What the next passes' failing words are filed under."""
        self._pattern, self._step, self._round = pattern, step, round_number

    def write(self, rule: Recipe) -> Iterator[float]:
        """Write `rule` everywhere."""
        kind = "write" if self._written else "first write"
        for span in self._cut(kind):
            yield from self._pace.next_slice()
            self._push(kind, self._area.write(rule, span), span.words)
        self.pipeline.drain()
        self._written = True

    def check(self, rule: Recipe) -> Iterator[float]:
        """Compare all with `rule`."""
        for span in self._cut("check"):
            if self._failing.listing:
                yield from self._pace.next_slice()
                queued = self._area.check(rule, span)
                self._push("check", queued, span.words, partial(self._checked, rule, span))
            else:
                yield from self._tally(rule, span)
            yield from self._check_in_parts(rule)
        self.pipeline.drain()
        yield from self._check_in_parts(rule)

    def march(self, expected: Recipe, written: Recipe, *, descending: bool) -> Iterator[float]:
        """A march element in the order of its address: first one parity of tiles, then the other.

        Hardware this wide has no strict order inside a slice; the parity gives neighbouring tiles
        one, and the order of the slices does so for all that is further apart.
        """
        for parity in (1, 0) if descending else (0, 1):
            tiles = Tiles(parity, descending)
            for span in self._cut("march", descending=descending):
                yield from self._pace.next_slice()
                queued = self._area.check_then_write(expected, written, span, tiles)
                self._push("march", queued, span.words, partial(self._marched, expected))
                yield from self._march_skipped(expected, written)
            self.pipeline.drain()
            yield from self._march_skipped(expected, written)

    def hammer(self, rule: Recipe, rounds: int) -> Iterator[float]:
        """Read even tiles, then odd tiles, of one window after the other, `rounds` times each."""
        for window in spans(self._area.words, self._hammer_window()):
            for parity in (0, 1):
                left = rounds
                while left:
                    yield from self._pace.next_slice()
                    now = max(1, min(left, self._size("hammer").amount() // window.words))
                    queued = self._area.hammer(rule, window, parity, now)
                    self._push("hammer", queued, now * window.words, moves=False)
                    left -= now
        self.pipeline.drain()

    def rest(self, seconds: float) -> Iterator[float]:
        """No access at all for `seconds`."""
        self.pipeline.drain()
        yield seconds

    def _hammer_window(self) -> int:
        return min(HAMMER_WINDOW_WORDS, self._area.largest_span_words)

    def _cut(self, kind: str, *, descending: bool = False) -> Iterator[Span]:
        """Spans over the whole area, each as long as a slice of `kind` may be by now."""
        done, words = 0, self._area.words
        while done < words:
            amount = min(self._size(kind).amount(), words - done)
            yield Span(words - done - amount if descending else done, amount)
            done += amount

    def _size(self, kind: str) -> SliceSize:
        if kind not in self._sizes:
            largest = 1 << 40 if kind == "hammer" else self._area.largest_span_words
            if kind == "first write":
                largest = min(largest, self._area.first_write_words)
            self._sizes[kind] = SliceSize(
                FIRST_SLICE_WORDS, GRAIN_WORDS, largest, scale=self._scale
            )
        return self._sizes[kind]

    def _push(
        self,
        kind: str,
        queued: Queued[Found],
        words: int,
        keep: Callable[[Found], None] | None = None,
        *,
        moves: bool = True,
    ) -> None:
        def settle(found: Found, seconds: float) -> None:
            if not math.isnan(seconds):
                self._size(kind).took(words, seconds)
            if keep is not None:
                keep(found)
            if moves:
                self._moved(words * 4)

        self.pipeline.push(queued, settle)

    def _keep(self, rule: Recipe, found: Findings) -> None:
        if len(found.addresses):
            expected = words_of(rule, found.addresses)
            for example in self._failing.add(
                found.addresses, expected, found.got, self._pattern, self._step, self._round
            ):
                self._found(example)

    def _checked(self, rule: Recipe, span: Span, found: Found) -> None:
        assert isinstance(found, Findings)
        if found.overflow:
            self._overflowed.append(span)
        else:
            self._keep(rule, found)

    def _check_in_parts(self, rule: Recipe) -> Iterator[float]:
        """Check spans again in parts where more words failed than one check can list.

        Of a single grain that is still too much for a list, the words are counted.
        """
        while self._overflowed:
            span = self._overflowed.pop()
            self.pipeline.drain()
            if not self._failing.listing or span.words <= GRAIN_WORDS:
                yield from self._tally(rule, span, moves=False)
                continue
            for part in halves(span):
                yield from self._pace.next_slice()
                self._checked(rule, part, self._area.check(rule, part).finish())

    def _tally(self, rule: Recipe, span: Span, *, moves: bool = True) -> Iterator[float]:
        """Count only, in slices of their own size."""
        start, left = span.first, span.words
        while left:
            yield from self._pace.next_slice()
            amount = min(left, self._size("tally").amount())
            queued = self._area.tally(rule, Span(start, amount))
            self._push("tally", queued, amount, self._counted, moves=moves)
            start, left = start + amount, left - amount
        self.pipeline.drain()

    def _counted(self, found: Found) -> None:
        assert isinstance(found, Tally)
        self._failing.count_only(found.failing, self._pattern, found.bit_counts)

    def _marched(self, rule: Recipe, found: Found) -> None:
        assert isinstance(found, Findings)
        self._keep(rule, found)
        self._skipped += found.skipped

    def _march_skipped(self, expected: Recipe, written: Recipe) -> Iterator[float]:
        """Treat the tiles that a march element left because its list was full.

        What does not fit into an empty list either is counted, and written over.
        """
        while self._skipped:
            self.pipeline.drain()
            span = self._skipped.pop()
            yield from self._pace.next_slice()
            if self._failing.listing:
                queued = self._area.check_then_write(expected, written, span, EVERY_TILE)
                found = queued.finish()
                if span not in found.skipped:
                    self._marched(expected, found)
                    continue
            self._counted(self._area.tally(expected, span).finish())
            self._area.write(written, span).finish()
