"""Each family finds the fault classes that it claims, on modelled cells."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.engine.faulty_memory import FaultyMemory, failures
from tests.engine.published_families import NAMES

WORDS = 64
VICTIM, AGGRESSOR, BIT = 37, 12, 1 << 9


def in_the_victim(change: Callable[[int, int], int]) -> FaultyMemory:
    """`change(old, new)` gives what the victim holds after a write; all other cells are sound."""

    def written(_: FaultyMemory, at: int, old: int, new: int) -> int:
        return change(old, new) if at == VICTIM else new

    return FaultyMemory(WORDS, written)


def stuck_at_1() -> FaultyMemory:
    return in_the_victim(lambda _, new: new | BIT)


def stuck_at_0() -> FaultyMemory:
    return in_the_victim(lambda _, new: new & ~BIT)


def no_rise() -> FaultyMemory:
    return in_the_victim(lambda old, new: new & ~(BIT & ~old))


def no_fall() -> FaultyMemory:
    return in_the_victim(lambda old, new: new | (BIT & old))


def bridge_in_word() -> FaultyMemory:
    """Two data lines joined: both read 1 only when both were written 1."""

    def joined(_: int, new: int) -> int:
        both = new & (new >> 1) & BIT
        return (new & ~(BIT | BIT << 1)) | both | both << 1

    return in_the_victim(joined)


def neighbours_joined() -> FaultyMemory:
    def joined(m: FaultyMemory, at: int, old: int, new: int) -> int:
        if at == VICTIM:
            m.cells[VICTIM - 1] = (m.cells[VICTIM - 1] & ~BIT) | (new & BIT)
        return new

    return FaultyMemory(WORDS, joined)


def inversion_coupling(aggressor: int, victim: int) -> FaultyMemory:
    def couple(m: FaultyMemory, at: int, old: int, new: int) -> int:
        if at == aggressor and ~old & new & BIT:
            m.cells[victim] ^= BIT
        return new

    return FaultyMemory(WORDS, couple)


def idempotent_coupling(aggressor: int, victim: int) -> FaultyMemory:
    def couple(m: FaultyMemory, at: int, old: int, new: int) -> int:
        if at == aggressor and ~old & new & BIT:
            m.cells[victim] |= BIT
        return new

    return FaultyMemory(WORDS, couple)


def two_addresses_one_cell() -> FaultyMemory:
    return FaultyMemory(WORDS, decode=lambda at: (VICTIM if at == AGGRESSOR else at,))


def one_address_two_cells() -> FaultyMemory:
    return FaultyMemory(WORDS, decode=lambda at: (at, VICTIM) if at == AGGRESSOR else (at,))


def charge_leaks() -> FaultyMemory:
    def leak(m: FaultyMemory) -> None:
        m.cells[VICTIM] &= ~BIT

    return FaultyMemory(WORDS, on_pause=leak)


def row_disturbs() -> FaultyMemory:
    def disturb(m: FaultyMemory, at: int) -> None:
        if at == VICTIM - 1:
            m.cells[VICTIM] &= ~BIT

    return FaultyMemory(WORDS, on_hammer=disturb)


Make = Callable[[], FaultyMemory]
CLAIMS: list[tuple[str, Make]] = [
    (pattern, make)
    for pattern, makes in {
        "solid": (stuck_at_1, stuck_at_0, no_rise, no_fall),
        "checkerboard": (stuck_at_1, stuck_at_0, neighbours_joined, bridge_in_word),
        "walking_bits": (stuck_at_1, stuck_at_0, bridge_in_word),
        "own_address": (two_addresses_one_cell, one_address_two_cells),
        "moving_inversions": (
            no_rise, no_fall, two_addresses_one_cell, one_address_two_cells,
            lambda: inversion_coupling(AGGRESSOR, VICTIM),
            lambda: inversion_coupling(VICTIM, AGGRESSOR),
        ),
        "pseudo_random": (stuck_at_1, stuck_at_0, two_addresses_one_cell, one_address_two_cells),
        "march": (
            stuck_at_1, stuck_at_0, no_rise, no_fall,
            two_addresses_one_cell, one_address_two_cells,
            lambda: inversion_coupling(AGGRESSOR, VICTIM),
            lambda: inversion_coupling(VICTIM, AGGRESSOR),
            lambda: idempotent_coupling(AGGRESSOR, VICTIM),
            lambda: idempotent_coupling(VICTIM, AGGRESSOR),
        ),
        "hammer": (row_disturbs,),
        "retention": (charge_leaks,),
    }.items()
    for make in makes
]


@pytest.mark.parametrize(("pattern", "make"), CLAIMS)
def test_the_family_finds_the_fault(pattern: str, make: Make) -> None:
    found = list(failures(make(), pattern))
    assert found
    assert {address for address, _, _ in found} <= {VICTIM, VICTIM - 1, AGGRESSOR}


@pytest.mark.parametrize("pattern", NAMES)
def test_the_family_finds_nothing_in_sound_cells(pattern: str) -> None:
    for seed in range(50):
        assert list(failures(FaultyMemory(WORDS), pattern, seed)) == []


def test_a_plain_checkerboard_misses_what_only_transitions_show() -> None:
    """The model tells faults apart: not every family finds every class."""
    assert list(failures(charge_leaks(), "march")) == []
    assert list(failures(row_disturbs(), "solid")) == []


def lines_joined(one: int, other: int) -> FaultyMemory:
    """Two data lines of a whole chip joined: each reads 1 only where both were written 1."""
    mask = 1 << one | 1 << other

    def joined(_: FaultyMemory, __: int, ___: int, new: int) -> int:
        return new if new & mask == mask else new & ~mask

    return FaultyMemory(WORDS, joined)


@pytest.mark.parametrize("victim", range(32))
def test_walking_bits_find_any_two_joined_lines_at_every_word(victim: int) -> None:
    """Every word shows it: a bit that walked half of the positions would leave words out."""
    for other in {(victim + 1) % 32, (victim + 16) % 32} - {victim}:
        found = list(failures(lines_joined(victim, other), "walking_bits"))
        assert {address for address, _, _ in found} == set(range(WORDS))
        ones = [(a, e) for a, e, _ in found if e in (1 << victim, 1 << other)]
        assert len(set(ones)) == 2 * WORDS
