"""The memory test: pattern families over the test area, every failing word kept."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

from burnin.engine.device import (
    EVERY_TILE,
    GRAIN_WORDS,
    Area,
    AreaFound,
    AreaWanted,
    Device,
    Findings,
    Queued,
    Span,
    Tally,
    Tiles,
)
from burnin.engine.failing import FailingWords
from burnin.engine.job import MemoryResult, MemoryTest, Plant, Progress, Started
from burnin.engine.layout import halves, spans
from burnin.engine.patterns import Pass, PassKind, Recipe, family, passes, recipe, words_of
from burnin.engine.patterns import written_and_read as traffic_of
from burnin.engine.slices import Pace, Pipeline, SliceSize
from burnin.engine.work import Emit

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

FIRST_SLICE_WORDS = 1 << 20
PROGRESS_EVERY_S = 0.1
HAMMER_WINDOW_WORDS = 1 << 27
"""512 MiB: half of it is read in turn, which is more than a card's cache holds."""

Found = Findings | Tally | None


class MemoryWork:
    """A `MemoryTest` under way on a device."""

    def __init__(self, device: Device, job: MemoryTest, emit: Emit) -> None:
        for name in job.patterns:
            family(name)
        self._job = job
        self._emit = emit
        self._started_s = time.perf_counter()
        wanted = AreaWanted(job.share, job.free_bytes, job.max_bytes)
        self._found: AreaFound = device.take_area(wanted)
        self._area: Area = self._found.area
        try:
            self._failing = FailingWords(job.failing_words_path, job.list_limit)
        except OSError:
            self._area.release()
            raise
        self._pipeline: Pipeline[Found] = Pipeline()
        self._pace = Pace(self._pipeline, job.duty)
        self._sizes: dict[str, SliceSize] = {}
        self._overflowed: list[tuple[Span, Tiles]] = []
        self._skipped: list[Span] = []
        self._done_patterns: set[str] = set()
        self._complete = False
        self._bytes_done = 0
        self._told_s = 0.0

    def slices(self) -> Iterator[float]:
        """See `burnin.engine.work.Work`."""
        job, area = self._job, self._area
        mib = area.words * 4 / 2**20
        self._emit(Started(
            f"{mib:.0f} MiB in {area.buffers} buffers, {len(job.patterns)} pattern families, "
            f"{job.passes} times"
        ))
        try:
            for number in range(job.passes):
                for pattern in job.patterns:
                    self._failing.by_pattern[pattern] += 0
                    for step in passes(pattern):
                        yield from self._pass(pattern, step, number)
                    self._done_patterns.add(pattern)
            self._complete = True
        finally:
            self._pipeline.abandon()

    def _pass(self, pattern: str, step: Pass, number: int) -> Iterator[float]:
        """One pass over the area; everything it found is kept when this ends."""
        seed = self._job.seed + number
        if step.kind is PassKind.PAUSE:
            self._pipeline.drain()
            yield step.pause_s
            self._plant(pattern, "pause")
            return
        rules = [recipe(pattern, s, seed) if s >= 0 else None for s in (step.expect, step.write)]
        expected, written = rules
        note = f"{pattern}, {step.kind.value}"
        if step.kind is PassKind.HAMMER:
            yield from self._hammer(recipe(pattern, 0, seed), step.rounds)
            self._plant(pattern, "hammer")
        elif step.kind is PassKind.WRITE and written is not None:
            yield from self._write(written, note)
            self._plant(pattern, "write")
        elif step.kind is PassKind.CHECK and expected is not None:
            yield from self._check(expected, pattern, step.expect, number, note)
        elif expected is not None and written is not None:
            yield from self._march(expected, written, pattern, step, number, note)
            self._plant(pattern, "write")

    def _write(self, rule: Recipe, note: str) -> Iterator[float]:
        for span in self._cut("write"):
            yield from self._pace.next_slice()
            self._push("write", self._area.write(rule, span), span, note)
        self._pipeline.drain()

    def _cut(self, kind: str, *, descending: bool = False) -> Iterator[Span]:
        """Spans over the whole area, each as long as a slice of `kind` may be by now."""
        size = self._size(kind)
        done, words = 0, self._area.words
        while done < words:
            amount = min(size.amount(), words - done)
            yield Span(words - done - amount if descending else done, amount)
            done += amount

    def _size(self, kind: str) -> SliceSize:
        if kind not in self._sizes:
            largest = self._area.largest_span_words
            self._sizes[kind] = SliceSize(FIRST_SLICE_WORDS, GRAIN_WORDS, largest)
        return self._sizes[kind]

    def _push(
        self, kind: str, queued: Queued[Found], span: Span, note: str, passes_over: int = 1
    ) -> None:
        self._pipeline.push(queued, partial(self._took, kind, span.words, note, passes_over))

    def _took(
        self, kind: str, amount: int, note: str, passes_over: int, _: Found, seconds: float
    ) -> None:
        if not math.isnan(seconds):
            self._size(kind).took(amount, seconds)
        self._advance(amount * 4 * passes_over, note)

    def _advance(self, moved_bytes: int, note: str) -> None:
        self._bytes_done += moved_bytes
        now_s = time.perf_counter()
        if now_s - self._told_s >= PROGRESS_EVERY_S:
            self._told_s = now_s
            self._emit(Progress(self._bytes_done, self._bytes_total(), "B", note))

    def _bytes_total(self) -> float:
        crossings = sum(sum(traffic_of(pattern)) for pattern in self._job.patterns)
        return float(crossings * self._area.words * 4 * self._job.passes)

    def _check(
        self, rule: Recipe, pattern: str, step: int, number: int, note: str
    ) -> Iterator[float]:
        keep = partial(self._keep, rule, pattern, step, number)
        for span in self._cut("check"):
            if not self._failing.listing:
                yield from self._tally(rule, pattern, span, note)
                continue
            yield from self._pace.next_slice()
            self._pipeline.push(
                self._area.check(rule, span), partial(self._checked, keep, span, note)
            )
            yield from self._recheck(rule, pattern, keep)
        self._pipeline.drain()
        yield from self._recheck(rule, pattern, keep)

    def _checked(self, keep: _Keep, span: Span, note: str, found: Found, seconds: float) -> None:
        assert isinstance(found, Findings)
        self._took("check", span.words, note, 1, found, seconds)
        if found.overflow:
            self._overflowed.append((span, EVERY_TILE))
        else:
            keep(found)

    def _recheck(self, rule: Recipe, pattern: str, keep: _Keep) -> Iterator[float]:
        """Check spans again in parts where more words failed than one check can list."""
        while self._overflowed:
            span, _ = self._overflowed.pop()
            self._pipeline.drain()
            if not self._failing.listing:
                yield from self._tally(rule, pattern, span, pattern)
                continue
            for part in halves(span):
                yield from self._pace.next_slice()
                found = self._area.check(rule, part).finish()
                if found.overflow:
                    self._overflowed.append((part, EVERY_TILE))
                else:
                    keep(found)

    def _tally(self, rule: Recipe, pattern: str, span: Span, note: str) -> Iterator[float]:
        """Count only, in slices of their own size."""
        start, left = span.first, span.words
        while left:
            amount = min(left, self._size("tally").amount())
            yield from self._pace.next_slice()
            part = Span(start, amount)
            self._pipeline.push(
                self._area.tally(rule, part), partial(self._tallied, pattern, amount, note)
            )
            start, left = start + amount, left - amount
        self._pipeline.drain()

    def _tallied(
        self, pattern: str, amount: int, note: str, found: Found, seconds: float
    ) -> None:
        assert isinstance(found, Tally)
        self._took("tally", amount, note, 1, found, seconds)
        self._failing.count_only(found.failing, pattern, found.bit_counts)

    def _march(
        self, expected: Recipe, written: Recipe, pattern: str, step: Pass, number: int, note: str
    ) -> Iterator[float]:
        """A march element, in the order of its address: first one parity of tiles, then the other.

        Hardware this wide has no strict order inside a slice; the parity gives neighbouring tiles
        one, and the order of the slices does so for all that is further apart.
        """
        keep = partial(self._keep, expected, pattern, step.expect, number)
        for parity in (1, 0) if step.descending else (0, 1):
            tiles = Tiles(parity, step.descending)
            for span in self._cut("march", descending=step.descending):
                yield from self._pace.next_slice()
                self._pipeline.push(
                    self._area.check_then_write(expected, written, span, tiles),
                    partial(self._marched, keep, span, note),
                )
                yield from self._march_skipped(expected, written, pattern, keep)
            self._pipeline.drain()
            yield from self._march_skipped(expected, written, pattern, keep)

    def _marched(self, keep: _Keep, span: Span, note: str, found: Found, seconds: float) -> None:
        assert isinstance(found, Findings)
        self._took("march", span.words, note, 1, found, seconds)
        keep(found)
        self._skipped += found.skipped

    def _march_skipped(
        self, expected: Recipe, written: Recipe, pattern: str, keep: _Keep
    ) -> Iterator[float]:
        """Treat the tiles that a march element left because its list was full."""
        while self._skipped:
            self._pipeline.drain()
            span = self._skipped.pop()
            yield from self._pace.next_slice()
            if self._failing.listing:
                found = self._area.check_then_write(expected, written, span, EVERY_TILE).finish()
                keep(found)
                self._skipped += found.skipped
            else:
                counted = self._area.tally(expected, span).finish()
                self._failing.count_only(counted.failing, pattern, counted.bit_counts)
                self._area.write(written, span).finish()

    def _hammer(self, rule: Recipe, rounds: int) -> Iterator[float]:
        for window in spans(self._area.words, HAMMER_WINDOW_WORDS):
            for parity in (0, 1):
                left = rounds
                while left:
                    size = self._size("hammer")
                    now = max(1, min(left, size.amount() // window.words))
                    yield from self._pace.next_slice()
                    queued = self._area.hammer(rule, window, parity, now)
                    amount = now * window.words
                    self._pipeline.push(
                        queued, partial(self._took, "hammer", amount, "hammer", 0)
                    )
                    left -= now
        self._pipeline.drain()

    def _keep(
        self, rule: Recipe, pattern: str, step: int, number: int, found: Findings
    ) -> None:
        expected: NDArray[np.uint32] = words_of(rule, found.addresses)
        for example in self._failing.add(
            found.addresses, expected, found.got, pattern, step, number
        ):
            self._emit(example)

    def _plant(self, pattern: str, after: str) -> None:
        for plant in self._job.plants:
            if plant.after == after and plant.pattern in ("", pattern):
                disturb(self._area, plant)

    def result(self) -> MemoryResult:
        """See `burnin.engine.work.Work`."""
        failing, job = self._failing, self._job
        every = self._done_patterns >= set(job.patterns)
        classes = dict.fromkeys(c for p in job.patterns if p in self._done_patterns
                                for c in family(p).finds)
        return MemoryResult(
            tested_bytes=self._area.words * 4 if every else 0,
            free_bytes=self._found.free_bytes,
            total_bytes=self._found.total_bytes,
            seconds=time.perf_counter() - self._started_s,
            pattern_failures=dict(failing.by_pattern),
            failing_words=failing.total,
            bit_counts=tuple(failing.bits),
            examples=tuple(failing.examples),
            listed_words=failing.listed,
            stride_bytes=failing.stride_bytes,
            hint=failing.hint(),
            fault_classes=tuple(classes),
            complete=self._complete,
            longest_slice_s=self._pipeline.longest_slice_s,
        )

    def release(self) -> None:
        """See `burnin.engine.work.Work`."""
        self._failing.close()
        self._area.release()
