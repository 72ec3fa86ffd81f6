"""Faults of memory and the words that fail by them.

Patterns: ``address`` (each word its own number), ``address_inverted``, ``random`` (a hash of
address and pass), ``solid_zero``, ``solid_one``, ``checker``, ``hammer`` (solid ones, rows opened
over and over). How cells, heat and a poor supply behave is common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.others.explained.memory_maps import AddressMap, Words

Rng = np.random.Generator
PATTERNS = ("address", "address_inverted", "random", "solid_zero", "solid_one", "checker", "hammer")
MASK = np.uint64(0xFFFFFFFF)


def expected_of(pattern: str, address: Words, passes: NDArray[np.int64]) -> Words:
    """The 32-bit words that a pattern writes."""
    word = address >> np.uint64(2)
    if pattern == "address":
        return word & MASK
    if pattern == "address_inverted":
        return ~word & MASK
    if pattern == "random":
        mixed = word * np.uint64(0x9E3779B97F4A7C15) + passes.astype(np.uint64) * np.uint64(0xD1B5)
        mixed ^= mixed >> np.uint64(29)
        return (mixed * np.uint64(0xBF58476D1CE4E5B9) >> np.uint64(32)) & MASK
    if pattern == "checker":
        return np.where(word & np.uint64(1), np.uint64(0x55555555), np.uint64(0xAAAAAAAA))
    solid = 0 if pattern == "solid_zero" else 0xFFFFFFFF
    return np.full(address.shape, solid, dtype=np.uint64)


@dataclass(frozen=True)
class Swept:
    """Passes of a sweep: pattern and temperature of the memory by pass."""

    patterns: tuple[str, ...]
    memory_c: tuple[float, ...]

    def expected(self, address: Words, passes: NDArray[np.int64]) -> Words:
        """What was written to each address in each pass."""
        found = np.zeros_like(address)
        for number, pattern in enumerate(self.patterns):
            here = passes == number
            found[here] = expected_of(pattern, address[here], passes[here])
        return found


def draw_swept(rng: Rng) -> Swept:
    """Six to fourteen passes, warming up, with the last ones hot."""
    count = int(rng.integers(6, 15))
    order = list(PATTERNS) + [str(p) for p in rng.choice(PATTERNS, max(0, count - len(PATTERNS)))]
    end_c = float(rng.uniform(70, 96))
    rise = 1 - np.exp(-np.arange(count) / rng.uniform(1.5, 4))
    memory_c = 38 + (end_c - 38) * rise + rng.normal(0, 0.7, count)
    patterns = tuple(str(p) for p in rng.permutation(order))[:count]
    return Swept(patterns, tuple(np.round(memory_c).tolist()))


def chosen_locals(card: AddressMap, name: str, count: int, at: int, rng: Rng) -> Words:
    """Local addresses of words hit by a fault of that class at local address `at`."""
    local = rng.integers(0, card.chip_bytes // 4, count, dtype=np.uint64) * np.uint64(4)
    one = np.array([at], dtype=np.uint64)
    bank = card.bank(one)
    if name == "row":
        columns = np.uint64(sum(1 << bit for bit in card.column_bits))
        return (local & columns) | (one & ~columns)
    if name == "column":
        columns = np.uint64(sum(1 << bit for bit in card.column_bits))
        return card.with_bank((local & ~columns) | (one & columns), bank)
    if name == "bank":
        return card.with_bank(local, bank)
    return local


def aliased(card: AddressMap, chip: Words, local: Words, row_bit: int) -> Words:
    """Where a dead address line reads from instead: the same chip with that line the other way.

    Banks are named by the chip's own lines, so a row line does not change the bank.
    """
    other = card.with_bank(local ^ np.uint64(1 << row_bit), card.bank(local))
    return card.join(chip, other)


def upset(got: Words, bits: NDArray[np.int64]) -> Words:
    """One bit of each word turned over."""
    return got ^ (np.uint64(1) << bits.astype(np.uint64))


def stuck(expected: Words, bits: int, value: int) -> Words:
    """Those bits at 0 or at 1."""
    return expected | np.uint64(bits) if value else expected & ~np.uint64(bits) & MASK
