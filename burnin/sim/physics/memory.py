"""The card's memory: an address space that is sound except where a cause says otherwise.

Nothing is stored: a word reads back as it was written, changed by the faults at its address. Chips
take turns every 256 bytes; each has 32 data lines.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from burnin.sim.causes.kinds import MemoryCellCause, MemoryChipCause, MemoryLineCause
from burnin.sim.scenario.model import Scenario

STRIPE_BYTES = 256
_WORDS_PER_STRIPE = STRIPE_BYTES // 4


@dataclass(frozen=True)
class FaultyCell:
    """A cell's cause at its byte address in the whole card."""

    address: int
    cause: MemoryCellCause

    def read(self, word: int, written: int) -> int:
        """What the cell makes of the word that reads `word` so far."""
        follows = self.cause.follows_bit
        value = written >> follows & 1 if follows is not None else self.cause.stuck_at or 0
        return _forced(word, self.cause.bit, value)


class Memory:
    """Faults of the address space of `size_bytes`; addresses are bytes, words have 32 bits."""

    def __init__(self, scenario: Scenario) -> None:
        build = scenario.card.memory
        self.size_bytes = build.size_bytes
        card = scenario.card
        slow = card.memory_clock_mhz / card.most_memory_clock_mhz
        self.bandwidth_gbs = build.bandwidth_gbs * slow
        self.chips = build.chips
        self._lines = [c for c in scenario.causes if isinstance(c, MemoryLineCause)]
        self._silent = [c for c in scenario.causes if isinstance(c, MemoryChipCause)]
        self._cells = [
            FaultyCell(self._place(c), c) for c in scenario.causes if isinstance(c, MemoryCellCause)
        ]

    def _place(self, cause: MemoryCellCause) -> int:
        if cause.chip is None:
            return cause.address
        stripe, inside = divmod(cause.address, STRIPE_BYTES)
        return (stripe * self.chips + cause.chip) * STRIPE_BYTES + inside

    def chip_of(self, address: int) -> int:
        """The chip that holds a byte address."""
        return address // STRIPE_BYTES % self.chips

    @property
    def sound(self) -> bool:
        """Whether no cause touches the memory."""
        return not (self._lines or self._cells or self._silent)

    def read_back(self, address: int, written: int, memory_c: float) -> int:
        """What the word at `address` (a multiple of 4) reads as after `written` was written."""
        word = written
        for cell in self._cells:
            if cell.address == address and _there(cell.cause.above_memory_c, memory_c):
                word = cell.read(word, written)
        chip = self.chip_of(address)
        for line in self._lines:
            if line.chip == chip and _there(line.above_memory_c, memory_c):
                word = _forced(word, line.bit, line.stuck_at)
        for silent in self._silent:
            if silent.chip == chip and _there(silent.above_memory_c, memory_c):
                word = 0xFFFF_FFFF if silent.rests_at else 0
        return word

    def faulty_cells(self, end_bytes: int, memory_c: float) -> tuple[int, ...]:
        """Addresses below `end_bytes` with a faulty cell at that temperature, ascending."""
        found = {
            cell.address
            for cell in self._cells
            if cell.address < end_bytes and _there(cell.cause.above_memory_c, memory_c)
        }
        return tuple(sorted(found))

    def faulty_chips(self, memory_c: float) -> tuple[int, ...]:
        """Chips that are silent or have a stuck data line at that temperature, ascending."""
        causes: list[MemoryLineCause | MemoryChipCause] = [*self._lines, *self._silent]
        there = (cause for cause in causes if _there(cause.above_memory_c, memory_c))
        return tuple(sorted({cause.chip for cause in there}))

    def chip_words(self, chip: int, end_bytes: int) -> int:
        """How many words of a chip lie below `end_bytes`."""
        whole, rest = divmod(end_bytes, STRIPE_BYTES * self.chips)
        part = min(STRIPE_BYTES, max(0, rest - chip * STRIPE_BYTES))
        return whole * _WORDS_PER_STRIPE + part // 4

    def some_words_of(self, chip: int, end_bytes: int, most: int) -> Iterator[int]:
        """At most `most` byte addresses of a chip's words, whole stripes spread over the area."""
        stripes = self.chip_words(chip, end_bytes) // _WORDS_PER_STRIPE
        if stripes == 0:
            return
        taken = max(1, min(stripes, most // _WORDS_PER_STRIPE))
        for number in range(taken):
            stripe = number * stripes // taken
            first = (stripe * self.chips + chip) * STRIPE_BYTES
            yield from range(first, first + STRIPE_BYTES, 4)


def _there(above_c: float | None, temp_c: float) -> bool:
    return above_c is None or temp_c >= above_c


def _forced(word: int, bit: int, value: int) -> int:
    return word | 1 << bit if value else word & ~(1 << bit)
