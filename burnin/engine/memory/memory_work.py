"""The memory test: pattern families over the memory that is free."""

from __future__ import annotations

import time
from collections.abc import Iterator

from burnin.core.errors import EngineError, ReasonedError
from burnin.core.meaning import Note
from burnin.engine.device.area import Area, AreaFound, AreaWanted
from burnin.engine.device.device import Device
from burnin.engine.device.passes import Pass, PassKind
from burnin.engine.device.patterns import family, kinds_of, passes, recipe, written_and_read
from burnin.engine.device.recipes import RecipeKind
from burnin.engine.device.slices import Pipeline, Scale
from burnin.engine.job import MemoryResult, MemoryTest, Progress, Started
from burnin.engine.meanings import EngineNote, EngineReason, EngineTerm
from burnin.engine.memory.failing_words import FailingWords
from burnin.engine.memory.planted_faults import disturb
from burnin.engine.memory.sweep import Found, Sweep
from burnin.engine.work import Emit

PROGRESS_EVERY_S = 0.1
PASS_TERMS = {
    PassKind.WRITE: EngineTerm.WRITE,
    PassKind.CHECK: EngineTerm.CHECK,
    PassKind.CHECK_THEN_WRITE: EngineTerm.CHECK_THEN_WRITE,
    PassKind.PAUSE: EngineTerm.PAUSE,
    PassKind.HAMMER: EngineTerm.HAMMER,
}
"""What each kind of pass is called."""


class MemoryWork:
    """A `MemoryTest` under way on a device. See `burnin.engine.work.Work`.

    `passes_done` over all its patterns, and `moved_bytes` written or read, so far.
    """

    def __init__(
        self, device: Device, job: MemoryTest, emit: Emit, scale: Scale | None = None
    ) -> None:
        for name in job.patterns:
            family(name)
        self._job = job
        self._emit = emit
        self._started_s = time.perf_counter()
        try:
            self._failing = FailingWords(job.failing_words_path, job.list_limit)
        except OSError as error:
            unwritten = EngineReason.FAILING_WORDS_UNWRITTEN(words=str(error))
            raise EngineError(unwritten) from error
        kinds = [kinds_of(pattern) for pattern in job.patterns]
        wanted = AreaWanted(
            job.share, job.free_bytes, job.max_bytes,
            frozenset[RecipeKind]().union(*(used for used, _ in kinds)),
            frozenset[RecipeKind]().union(*(marched for _, marched in kinds)),
        )  # fmt: skip
        try:
            self._found: AreaFound = device.take_area(wanted)
        except ReasonedError:
            self._failing.close()
            raise
        self._area: Area = self._found.area
        self._sweep = Sweep(self._area, job.duty, self._failing, self._moved, emit, scale)
        self._done_patterns: set[str] = set()
        self._complete = False
        self.passes_done = self.moved_bytes = 0
        self._note: Note | None = None
        self._told_s = 0.0

    def slices(self) -> Iterator[float]:
        """Go through every family, `passes` times."""
        job, area = self._job, self._area
        self._emit(Started(EngineNote.PLAN_MEMORY(
            mib=area.words * 4 / 2**20,
            buffers=area.buffers,
            patterns=job.patterns,
            passes=job.passes,
        )))
        try:
            for number in range(job.passes):
                for pattern in job.patterns:
                    self._failing.by_pattern[pattern] += 0
                    for step in passes(pattern):
                        yield from self._pass(pattern, step, number)
                    self._done_patterns.add(pattern)
                self.passes_done += 1
            self._complete = True
        finally:
            self._sweep.pipeline.abandon()

    def _pass(self, pattern: str, step: Pass, number: int) -> Iterator[float]:
        """One pass over the area; everything it found is kept when this ends."""
        seed = self._job.seed + number
        expected = recipe(pattern, max(0, step.expect), seed)
        written = recipe(pattern, max(0, step.write), seed)
        sweep, after = self._sweep, "write"
        sweep.looking_for(pattern, step.expect, number)
        self._note = EngineNote.PASS(pattern=pattern, kind=PASS_TERMS[step.kind]())
        if step.kind is PassKind.WRITE:
            yield from sweep.write(written)
        elif step.kind is PassKind.CHECK_THEN_WRITE:
            yield from sweep.march(expected, written, descending=step.descending)
        elif step.kind is PassKind.PAUSE:
            yield from sweep.rest(step.pause_s)
            after = "pause"
        elif step.kind is PassKind.HAMMER:
            yield from sweep.hammer(expected, step.rounds)
            after = "hammer"
        else:
            yield from sweep.check(expected)
            return
        for plant in self._job.plants:
            if plant.after == after and plant.pattern in ("", pattern):
                disturb(self._area, plant)

    def _moved(self, moved_bytes: int) -> None:
        self.moved_bytes += moved_bytes
        now_s = time.perf_counter()
        if now_s - self._told_s >= PROGRESS_EVERY_S:
            self._told_s = now_s
            crossings = sum(sum(written_and_read(pattern)) for pattern in self._job.patterns)
            total = float(crossings * self._area.words * 4 * self._job.passes)
            self._emit(Progress(min(self.moved_bytes, total), total, "B", self._note))

    @property
    def wrong_words(self) -> int:
        """Words that have read back wrong so far."""
        return self._failing.total

    @property
    def pipeline(self) -> Pipeline[Found]:
        """Slices that are queued."""
        return self._sweep.pipeline

    @property
    def area_bytes(self) -> int:
        """Bytes of the area under test."""
        return self._area.words * 4

    def paused(self) -> None:
        """The next slice was kept waiting."""
        self._sweep.pipeline.paused()

    def settle(self) -> None:
        """Wait for what is queued and take in what it found."""
        self._sweep.pipeline.drain()

    def result(self) -> MemoryResult:
        """What was found; `complete` False when it was stopped."""
        failing, done = self._failing, self._done_patterns
        classes = dict.fromkeys(
            fault for pattern in self._job.patterns if pattern in done
            for fault in family(pattern).finds
        )
        return MemoryResult(
            tested_bytes=self._area.words * 4 if done >= set(self._job.patterns) else 0,
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
            longest_slice_s=self._sweep.pipeline.longest_slice_s,
        )

    def release(self) -> None:
        """Give the memory back."""
        self._failing.close()
        self._area.release()
