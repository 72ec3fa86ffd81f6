"""A march reaches every word, and goes down where it says so: coupled cells show both."""

from __future__ import annotations

from typing import Any, cast

import pytest

from burnin.engine.device.area import GRAIN_WORDS, TILE_WORDS
from burnin.engine.device.device import Device
from burnin.engine.job import MemoryResult, MemoryTest, Plant
from burnin.engine.memory.memory_work import MemoryWork
from tests.engine.area_in_memory import AreaInMemory, Coupling, DeviceInMemory
from tests.engine.published_families import NAMES

WORDS, SLICE_WORDS = 20 * GRAIN_WORDS, 4 * GRAIN_WORDS


def carried_out(area: AreaInMemory, *patterns: str, **more: Any) -> MemoryResult:
    device = cast(Device, DeviceInMemory(area))
    work = MemoryWork(device, MemoryTest(1.0, patterns, **more), lambda _: None)
    for _ in work.slices():
        pass
    found = work.result()
    work.release()
    return found


# The aggressor lies above its victim: on the way up it comes last and hides what it did; only
# {down(r0,w1)} reads the victim after the aggressor has risen (van de Goor, 1991, March C-).
DOWNWARDS = {
    "in the same slice": (5 * TILE_WORDS + 3, 3 * TILE_WORDS + 900),
    "in another slice": (30 * TILE_WORDS + 3, 4 * TILE_WORDS + 17),
    "in the tile beside it": (7 * TILE_WORDS + 1, 6 * TILE_WORDS + 1000),
    "at both ends": (WORDS - 1 - TILE_WORDS, 5),
}


@pytest.mark.parametrize("where", DOWNWARDS)
def test_a_fault_that_only_a_descending_element_shows_is_found(where: str) -> None:
    aggressor, victim = DOWNWARDS[where]
    area = AreaInMemory(WORDS, SLICE_WORDS, Coupling(aggressor, victim))
    found = carried_out(area, "march")
    assert found.failing_words > 0
    assert {word.address_bytes for word in found.examples} == {victim * 4}
    assert {word.expected ^ word.got for word in found.examples} == {1 << 9}


@pytest.mark.parametrize("where", DOWNWARDS)
def test_a_fault_that_only_an_ascending_element_shows_is_found(where: str) -> None:
    victim, aggressor = (WORDS - 1 - place for place in DOWNWARDS[where])
    area = AreaInMemory(WORDS, SLICE_WORDS, Coupling(victim, aggressor))
    found = carried_out(area, "march")
    assert {word.address_bytes for word in found.examples} == {aggressor * 4}


@pytest.mark.parametrize("pattern", NAMES)
def test_sound_cells_fail_nowhere_and_every_word_was_written(pattern: str) -> None:
    area = AreaInMemory(WORDS, SLICE_WORDS)
    found = carried_out(area, pattern)
    assert found.failing_words == 0
    assert found.tested_bytes == WORDS * 4
    assert not (area.held == 0xDEADBEEF).any()


@pytest.mark.parametrize("pattern", NAMES)
@pytest.mark.parametrize("slice_grains", [3, 4, 20])
def test_the_last_word_and_the_last_grain_are_checked(pattern: str, slice_grains: int) -> None:
    """Whatever the size of a slice, also where it does not divide the area."""
    last, grain = (WORDS - 1) * 4, (WORDS - GRAIN_WORDS) * 4
    plants = (Plant(last, flip_bits=1 << 31), Plant(grain, flip_bits=1 << 2))
    found = carried_out(AreaInMemory(WORDS, slice_grains * GRAIN_WORDS), pattern, plants=plants)
    assert {word.address_bytes for word in found.examples} == {grain, last}


@pytest.mark.parametrize("list_limit", [10, 1 << 20])
def test_more_failing_words_than_a_list_holds_are_all_counted(list_limit: int) -> None:
    """Beyond what one check can list, spans are checked in parts; beyond the limit, counted."""
    failing = 3 * GRAIN_WORDS
    plant = Plant(0, count=failing, flip_bits=1)
    few = AreaInMemory(WORDS, SLICE_WORDS, list_words=GRAIN_WORDS)
    found = carried_out(few, "checkerboard", "solid", plants=(plant,), list_limit=list_limit)
    assert found.pattern_failures == {"checkerboard": 2 * failing, "solid": 3 * failing}
    assert found.bit_counts[0] == found.failing_words == sum(found.bit_counts)
    assert found.listed_words == min(list_limit, 5 * failing)


@pytest.mark.parametrize("list_limit", [1, 1 << 20])
def test_a_march_comes_back_to_the_tiles_that_its_list_had_no_room_for(list_limit: int) -> None:
    """They were read and left as they were: nothing of them is lost, and none is counted twice."""
    failing = 4 * GRAIN_WORDS
    plant = Plant(0, count=failing, flip_bits=1 << 5)
    area = AreaInMemory(WORDS, SLICE_WORDS, list_words=GRAIN_WORDS)
    found = carried_out(area, "march", plants=(plant,), list_limit=list_limit)
    assert found.failing_words == 6 * 5 * failing  # five reads of each of six backgrounds
    assert found.bit_counts[5] == found.failing_words == sum(found.bit_counts)
    assert found.listed_words == min(list_limit, found.failing_words)


def test_every_window_is_hammered_as_often_as_the_family_says_even_tiles_and_odd_ones() -> None:
    area = AreaInMemory(WORDS, SLICE_WORDS)
    carried_out(area, "hammer")
    rounds: dict[tuple[int, int, int], int] = {}
    for first, words, parity, times in area.hammered:
        assert times >= 1
        rounds[first, words, parity] = rounds.get((first, words, parity), 0) + times
    windows = range(0, WORDS, SLICE_WORDS)
    # 64 rounds after each of the two contents that the family writes
    assert rounds == {(w, SLICE_WORDS, parity): 2 * 64 for w in windows for parity in (0, 1)}


@pytest.mark.parametrize("kind", ["write", "check", "march"])
def test_slices_follow_each_other_over_the_whole_area(kind: str) -> None:
    area = AreaInMemory(WORDS, SLICE_WORDS)
    carried_out(area, "moving_inversions")
    spans = [(first, words) for told, first, words in area.slices if told == kind]
    assert spans
    assert sum(words for _, words in spans) % WORDS == 0
    assert all(0 < words <= SLICE_WORDS for _, words in spans)
    assert {first for first, _ in spans} >= {0}


@pytest.mark.parametrize("pattern", NAMES)
@pytest.mark.parametrize("list_words", [1, TILE_WORDS - 1, TILE_WORDS, GRAIN_WORDS - 1])
def test_a_list_that_is_smaller_than_a_grain_ends_and_counts_every_word(
    pattern: str, list_words: int
) -> None:
    """A grain that fails as a whole cannot be parted further: its words are counted, unlisted."""
    plants = (
        Plant(2 * GRAIN_WORDS * 4, count=GRAIN_WORDS, flip_bits=1), Plant(4, flip_bits=2),
    )  # fmt: skip
    area = AreaInMemory(6 * GRAIN_WORDS, 4 * GRAIN_WORDS, list_words=list_words)
    device = cast(Device, DeviceInMemory(area))
    work = MemoryWork(device, MemoryTest(1.0, (pattern,), plants=plants), lambda _: None)
    for number, _ in enumerate(work.slices()):
        assert number < 5000, "goes round and round"
    found = work.result()
    work.release()
    wide = carried_out(AreaInMemory(6 * GRAIN_WORDS, 4 * GRAIN_WORDS), pattern, plants=plants)
    assert found.failing_words == wide.failing_words > GRAIN_WORDS
    assert 4 in {word.address_bytes for word in found.examples}
