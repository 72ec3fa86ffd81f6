"""A memory test on the simulated card: passes take their time, faults show what they do to words.

A stuck cell is checked word by word. A stuck data line touches a chip's every word, hundreds of
millions: a few thousand of them, spread over the area, are checked and listed, and their share is
scaled up to what the whole chip would count.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from burnin.core.errors import EngineError
from burnin.core.meaning import Note, Term
from burnin.engine.device.passes import Pass, PassKind
from burnin.engine.device.patterns import family, passes, word
from burnin.engine.job import FailingWord, MemoryResult, MemoryTest, Progress
from burnin.engine.meanings import EngineNote, EngineReason, EngineTerm
from burnin.engine.memory.failing_words import FailingWords
from burnin.sim.engine.meanings import SimNote, SimReason
from burnin.sim.physics.machine import Machine
from burnin.sim.physics.power import IDLE, Activity

_GRAIN_BYTES = 8192
_FREE_SHARE = 0.97
"""Share of the memory that the driver leaves free; the rest lies at the end."""
_HAMMER_SHARE = 0.02
"""One round of hammering reads this share of the area."""
_SAMPLED_WORDS = 2048
_PASS_NAMES: dict[PassKind, Term] = {
    PassKind.WRITE: EngineTerm.WRITE(),
    PassKind.CHECK: EngineTerm.CHECK(),
    PassKind.CHECK_THEN_WRITE: EngineTerm.CHECK_THEN_WRITE(),
    PassKind.PAUSE: EngineTerm.PAUSE(),
    PassKind.HAMMER: EngineTerm.HAMMER(),
}


@dataclass(frozen=True)
class _Step:
    pattern: str
    what: Pass
    round_number: int
    moved_bytes: float
    ends_pattern: bool


class MemoryWork:
    """A memory test that goes on; see `burnin.sim.engine.work.Work`."""

    def __init__(self, machine: Machine, job: MemoryTest) -> None:
        if job.plants:
            raise EngineError(SimReason.DISTURBS_NO_WORDS())
        self._machine = machine
        self._job = job
        size = machine.memory.size_bytes
        self._free = job.free_bytes or int(size * _FREE_SHARE) // _GRAIN_BYTES * _GRAIN_BYTES
        wanted = int(self._free * min(1.0, max(0.0, job.share)))
        wanted = min(wanted, job.max_bytes or wanted)
        self._tested = max(_GRAIN_BYTES, wanted // _GRAIN_BYTES * _GRAIN_BYTES)
        self._steps = [
            _Step(pattern, what, number, self._moved(what), what is passes(pattern)[-1])
            for number in range(max(1, job.passes))
            for pattern in job.patterns
            for what in passes(pattern)
        ]
        self._total = sum(step.moved_bytes for step in self._steps)
        try:
            self._failing = FailingWords(job.failing_words_path, job.list_limit)
        except OSError as error:
            reason = EngineReason.FAILING_WORDS_UNWRITTEN(words=str(error))
            raise EngineError(reason) from error
        self._at = 0
        self._moved_bytes = 0.0
        self._in_step_s = 0.0
        self._seconds = 0.0
        self._patterns_done: set[str] = set()
        self._fresh: list[FailingWord] = []

    def _moved(self, what: Pass) -> float:
        if what.kind is PassKind.PAUSE:
            return 0.0
        times = {PassKind.CHECK_THEN_WRITE: 2.0, PassKind.HAMMER: _HAMMER_SHARE * what.rounds}
        return self._tested * times.get(what.kind, 1.0)

    @property
    def tested_bytes(self) -> int:
        """Bytes of the area under test."""
        return self._tested

    @property
    def passes_done(self) -> int:
        """Passes over all patterns that are over."""
        return self._job.passes if self.done() else self._steps[self._at].round_number

    @property
    def wrong_words(self) -> int:
        """Words that have read back wrong so far."""
        return self._failing.total

    def plan(self) -> Note:
        """What will be done."""
        return SimNote.PLAN_MEMORY(
            mib=self._tested / 2**20, patterns=self._job.patterns, passes=self._job.passes
        )

    def activity(self) -> Activity:
        """Memory busy for the job's share of the time; nothing in a pause."""
        if self.done() or self._steps[self._at].what.kind is PassKind.PAUSE:
            return IDLE
        return Activity(core=0.25 * self._job.duty, memory=self._job.duty)

    def worked(self, seconds: float) -> None:
        """Move on through the passes; each is judged when it ends."""
        left = seconds
        while left > 1e-12 and not self.done():
            step = self._steps[self._at]
            pause = step.what.kind is PassKind.PAUSE
            needed = step.what.pause_s if pause else step.moved_bytes / self._rate()
            spent = min(left, needed - self._in_step_s)
            self._in_step_s += spent
            self._seconds += spent
            left -= spent
            if self._in_step_s >= needed - 1e-12:
                self._finish(step)
        if self.done():
            self._failing.close()

    def _rate(self) -> float:
        return self._machine.memory.bandwidth_gbs * 1e9 * max(0.001, self._job.duty)

    def _finish(self, step: _Step) -> None:
        self._moved_bytes += step.moved_bytes
        self._at += 1
        self._in_step_s = 0.0
        self._failing.by_pattern[step.pattern] += 0
        if step.what.expect >= 0 and not self._machine.memory.sound:
            self._check(step)
        if step.ends_pattern:
            self._patterns_done.add(step.pattern)

    def _check(self, step: _Step) -> None:
        """Compare the words that a cause touches, at the memory's present temperature."""
        memory = self._machine.memory
        memory_c = self._machine.network.at("memory")
        chips = memory.faulty_chips(memory_c)
        cells = [
            address
            for address in memory.faulty_cells(self._tested, memory_c)
            if memory.chip_of(address) not in chips
        ]
        self._compare(step, cells, memory_c)
        for chip in chips:
            addresses = list(memory.some_words_of(chip, self._tested, _SAMPLED_WORDS))
            flips = self._compare(step, addresses, memory_c)
            unseen = memory.chip_words(chip, self._tested) - len(addresses)
            for flipped, times in flips.items():
                more = round(unseen * times / len(addresses))
                lanes = tuple(more * (flipped >> bit & 1) for bit in range(32))
                self._failing.count_only(more, step.pattern, lanes)

    def _compare(self, step: _Step, addresses: list[int], memory_c: float) -> Counter[int]:
        """List what reads back wrong at byte addresses; how often which bits were flipped."""
        import numpy as np

        seed = self._job.seed + step.round_number
        rows: list[tuple[int, int, int]] = []
        for address in addresses:
            expected = word(step.pattern, step.what.expect, address // 4, seed)
            got = self._machine.memory.read_back(address, expected, memory_c)
            if got != expected:
                rows.append((address // 4, expected, got))
        if rows:
            self._fresh += self._failing.add(
                np.array([row[0] for row in rows], np.uint64),
                np.array([row[1] for row in rows], np.uint32),
                np.array([row[2] for row in rows], np.uint32),
                step.pattern,
                step.what.expect,
                step.round_number,
            )
        return Counter(expected ^ got for _, expected, got in rows)

    def fresh(self) -> tuple[FailingWord, ...]:
        """Examples found since the last call."""
        found, self._fresh = tuple(self._fresh), []
        return found

    def progress(self) -> Progress:
        """Bytes written and read so far."""
        if self.done():
            return Progress(self._total, self._total, "B")
        step = self._steps[self._at]
        inside = min(step.moved_bytes, self._in_step_s * self._rate())
        note = EngineNote.PASS(pattern=step.pattern, kind=_PASS_NAMES[step.what.kind])
        return Progress(self._moved_bytes + inside, self._total, "B", note)

    def done(self) -> bool:
        """Whether all passes are over."""
        return self._at >= len(self._steps)

    def result(self) -> MemoryResult:
        """What was tested and what failed; `complete` False when it was stopped."""
        failing, done = self._failing, self._patterns_done
        failing.close()
        classes = dict.fromkeys(
            fault for name in self._job.patterns if name in done for fault in family(name).finds
        )
        return MemoryResult(
            tested_bytes=self._tested if done >= set(self._job.patterns) else 0,
            free_bytes=self._free,
            total_bytes=self._machine.memory.size_bytes,
            seconds=self._seconds,
            pattern_failures=dict(failing.by_pattern),
            failing_words=failing.total,
            bit_counts=tuple(failing.bits),
            examples=tuple(failing.examples),
            listed_words=failing.listed if self._job.failing_words_path else 0,
            stride_bytes=failing.stride_bytes,
            hint=failing.hint(),
            fault_classes=tuple(classes),
            complete=self.done(),
        )
