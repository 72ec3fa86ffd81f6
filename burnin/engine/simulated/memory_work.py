"""A memory test on the simulated card: passes take their time, faults show what they do to words.

A stuck cell is checked word by word. A stuck data line touches a chip's every word, hundreds of
millions: a few thousand of them, spread over the area, are checked and their share is scaled up.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from burnin.card.simulated.machine import Machine
from burnin.card.simulated.power import IDLE, Activity
from burnin.engine.job import FailingWord, MemoryResult, MemoryTest, Progress
from burnin.engine.patterns import Pass, PassKind, passes, word

EXAMPLES = 64
_GRAIN_BYTES = 8192
_FREE_SHARE = 0.97
_HAMMER_SHARE = 0.02
"""One round of hammering reads this share of the area."""
_SAMPLED_WORDS = 2048


@dataclass(frozen=True)
class _Step:
    pattern: str
    what: Pass
    moved_bytes: float


class MemoryWork:
    """A memory test that goes on."""

    def __init__(self, machine: Machine, job: MemoryTest) -> None:
        self._machine = machine
        self._job = job
        memory = machine.memory
        self._free = int(memory.size_bytes * _FREE_SHARE) // _GRAIN_BYTES * _GRAIN_BYTES
        share = min(1.0, max(0.0, job.share))
        self._tested = max(_GRAIN_BYTES, int(self._free * share) // _GRAIN_BYTES * _GRAIN_BYTES)
        self._steps = [
            _Step(pattern, what, self._moved(what))
            for _ in range(max(1, job.passes))
            for pattern in job.patterns
            for what in passes(pattern)
        ]
        self._total = sum(step.moved_bytes for step in self._steps)
        self._at = 0
        self._moved_bytes = 0.0
        self._in_step = 0.0
        self._seconds = 0.0
        self._failures = dict.fromkeys(job.patterns, 0)
        self._bits = [0] * 32
        self.examples: list[FailingWord] = []
        self.fresh: list[FailingWord] = []

    def _moved(self, what: Pass) -> float:
        if what.kind is PassKind.PAUSE:
            return 0.0
        times = {PassKind.CHECK_THEN_WRITE: 2.0, PassKind.HAMMER: _HAMMER_SHARE * what.rounds}
        return self._tested * times.get(what.kind, 1.0)

    def plan(self) -> str:
        """What will be done, in words."""
        names = ", ".join(self._job.patterns)
        return (
            f"{self._tested / 2**30:.2f} of {self._free / 2**30:.2f} GiB free,"
            f" patterns {names}, {self._job.passes} pass(es) (simulated)"
        )

    def activity(self) -> Activity:
        """Memory busy for the job's share of the time; nothing in a pause."""
        if self.done() or self._steps[self._at].what.kind is PassKind.PAUSE:
            return IDLE
        return Activity(core=0.25 * self._job.duty, memory=self._job.duty)

    def worked(self, seconds: float) -> None:
        """Move on through the passes; each is judged when it ends."""
        self._seconds += seconds
        rate = self._machine.memory.bandwidth_gbs * 1e9 * self._job.duty
        left = seconds
        while left > 1e-12 and not self.done():
            step = self._steps[self._at]
            pause = step.what.kind is PassKind.PAUSE
            needed = step.what.pause_s if pause else step.moved_bytes / rate
            spent = min(left, needed - self._in_step)
            self._in_step += spent
            left -= spent
            if self._in_step >= needed - 1e-12:
                self._finish(step)

    def _finish(self, step: _Step) -> None:
        self._moved_bytes += step.moved_bytes
        self._at += 1
        self._in_step = 0.0
        if step.what.expect >= 0 and not self._machine.memory.sound:
            self._check(step.pattern, step.what.expect)

    def _check(self, pattern: str, expect: int) -> None:
        memory = self._machine.memory
        memory_c = self._machine.network.at("memory")
        chips = memory.faulty_chips(memory_c)
        for address in memory.faulty_cells(self._tested, memory_c):
            if memory.chip_of(address) not in chips:
                flipped = self._compare(pattern, expect, address, memory_c)
                self._count(pattern, flipped, 1)
        for chip in chips:
            looked = 0
            seen: Counter[int] = Counter()
            for address in memory.some_words_of(chip, self._tested, _SAMPLED_WORDS):
                looked += 1
                seen[self._compare(pattern, expect, address, memory_c)] += 1
            for flipped, times in seen.items():
                scaled = round(memory.chip_words(chip, self._tested) * times / looked)
                self._count(pattern, flipped, scaled)

    def _compare(self, pattern: str, expect: int, address: int, memory_c: float) -> int:
        """Bits that read back wrong at an address; the first failing words are kept."""
        expected = word(pattern, expect, address // 4, self._job.seed)
        got = self._machine.memory.read_back(address, expected, memory_c)
        if got != expected:
            found = FailingWord(address, expected, got, pattern)
            self.fresh.append(found)
            if len(self.examples) < EXAMPLES:
                self.examples.append(found)
        return got ^ expected

    def _count(self, pattern: str, flipped: int, times: int) -> None:
        if not flipped:
            return
        self._failures[pattern] += times
        for bit in range(32):
            if flipped >> bit & 1:
                self._bits[bit] += times

    def progress(self) -> Progress:
        """Bytes written and read so far."""
        note = "" if self.done() else self._steps[self._at].pattern
        if self.done():
            return Progress(self._total, self._total, "bytes", note)
        step = self._steps[self._at]
        rate = self._machine.memory.bandwidth_gbs * 1e9 * self._job.duty
        inside = min(step.moved_bytes, self._in_step * rate)
        return Progress(self._moved_bytes + inside, self._total, "bytes", note)

    def done(self) -> bool:
        """Whether all passes are over."""
        return self._at >= len(self._steps)

    def result(self) -> MemoryResult:
        """What was tested and what failed."""
        return MemoryResult(
            tested_bytes=self._tested,
            free_bytes=self._free,
            total_bytes=self._machine.memory.size_bytes,
            seconds=self._seconds,
            pattern_failures=dict(self._failures),
            failing_words=sum(self._failures.values()),
            bit_counts=tuple(self._bits),
            examples=tuple(self.examples),
        )
