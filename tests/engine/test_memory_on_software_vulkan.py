"""The real kernels on real memory: planted faults are found where they are, and no others."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from burnin.core.errors import EngineError
from burnin.engine.device.area import EVERY_TILE, GRAIN_WORDS, AreaWanted, Span, Tiles
from burnin.engine.device.device import Device
from burnin.engine.device.layout import Layout
from burnin.engine.device.meanings import PatternReason
from burnin.engine.device.patterns import recipe, steps, word, words
from burnin.engine.device.recipes import RecipeKind
from burnin.engine.job import FailingWord, MemoryResult, MemoryTest, Plant, Progress, Started
from burnin.engine.meanings import EngineCause, EngineNote, EngineReason, EngineTerm
from burnin.engine.vulkan.area import VulkanArea
from burnin.engine.vulkan.device import VulkanDevice
from burnin.report.languages.catalogue import catalogue
from tests.engine.conftest import RunJob
from tests.engine.published_families import FINDS, NAMES

pytestmark = pytest.mark.software_vulkan

MIB = 2**20
SMALL = 2 * MIB


def memory_test(*patterns: str, size: int = SMALL, **more: object) -> MemoryTest:
    return MemoryTest(1.0, patterns, max_bytes=size, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("pattern", NAMES)
def test_a_flipped_bit_is_found_at_its_address(run_job: RunJob, pattern: str) -> None:
    plant = Plant(address_bytes=4096 * 77 + 8, flip_bits=1 << 19, pattern=pattern)
    result, events = run_job(memory_test(pattern, plants=(plant,)))
    assert isinstance(result, MemoryResult)
    assert result.failing_words > 0
    assert {word.address_bytes for word in result.examples} == {plant.address_bytes}
    assert {word.expected ^ word.got for word in result.examples} == {1 << 19}
    assert result.bit_counts[19] == result.failing_words == sum(result.bit_counts)
    assert result.examples[0] in events
    assert result.hint == EngineCause.ONE_BIT(bit=19, spacing=None)


@pytest.mark.parametrize("pattern", NAMES)
def test_the_last_word_and_the_last_grain_are_tested(run_job: RunJob, pattern: str) -> None:
    """In an area that is no multiple of what a slice or a group of threads treats."""
    size = SMALL + 3 * GRAIN_WORDS * 4
    grain, last = size - GRAIN_WORDS * 4, size - 4
    plants = (Plant(grain, flip_bits=1 << 2), Plant(last, flip_bits=1 << 31))
    result, _ = run_job(memory_test(pattern, size=size, plants=plants))
    assert result.tested_bytes == size
    assert {(w.address_bytes, w.expected ^ w.got) for w in result.examples} == {
        (grain, 1 << 2), (last, 1 << 31),
    }  # fmt: skip


@pytest.mark.parametrize("pattern", NAMES)
def test_sound_memory_fails_nowhere(run_job: RunJob, pattern: str) -> None:
    result, _ = run_job(memory_test(pattern, seed=len(pattern)))
    assert result.failing_words == 0
    assert result.pattern_failures == {pattern: 0}
    assert result.tested_bytes == SMALL
    assert result.complete
    assert {str(found) for found in result.fault_classes} == FINDS[pattern]


def test_no_fault_on_sound_memory_in_50_seeds(run_job: RunJob) -> None:
    result, _ = run_job(memory_test("pseudo_random", "own_address", passes=50, size=256 * 1024))
    assert result.failing_words == 0


@pytest.mark.parametrize(
    "plant", [Plant(12345 * 4, set_bits=1 << 3), Plant(12345 * 4, clear_bits=1 << 3)]
)
@pytest.mark.parametrize("pattern", ["solid", "checkerboard", "walking_bits", "pseudo_random"])
def test_a_stuck_bit_is_found(run_job: RunJob, pattern: str, plant: Plant) -> None:
    result, _ = run_job(memory_test(pattern, plants=(plant,)))
    assert {(w.address_bytes, w.expected ^ w.got) for w in result.examples} == {(49380, 8)}


@pytest.mark.parametrize("pattern", ["own_address", "pseudo_random"])
def test_two_addresses_that_reach_one_cell_are_found(run_job: RunJob, pattern: str) -> None:
    plant = Plant(address_bytes=MIB + 64, copy_from_bytes=64)
    result, _ = run_job(memory_test(pattern, plants=(plant,)))
    assert {w.address_bytes for w in result.examples} == {MIB + 64}
    assert result.examples[0].got == word(pattern, 0, 16, seed=1)


@pytest.mark.parametrize("after", ["pause", "hammer"])
def test_what_changes_while_nothing_is_written_is_found(run_job: RunJob, after: str) -> None:
    pattern = {"pause": "retention", "hammer": "hammer"}[after]
    plant = Plant(8192, clear_bits=0xFF, after=after)
    result, _ = run_job(memory_test(pattern, "solid", plants=(plant,), size=MIB))
    assert result.pattern_failures[pattern] > 0
    assert result.pattern_failures["solid"] == 0


@pytest.mark.long
def test_millions_of_failing_words_are_all_counted_and_listed(
    run_job: RunJob, tmp_path: Path
) -> None:
    listing = tmp_path / "failing_words.csv"
    plant = Plant(0, count=1_100_000, flip_bits=0x80000001)
    result, _ = run_job(memory_test(
        "own_address", size=8 * MIB, failing_words_path=str(listing), plants=(plant,),
    ))
    assert result.failing_words == result.listed_words == 2_200_000
    assert result.bit_counts[0] == result.bit_counts[31] == 2_200_000
    assert result.stride_bytes == 4
    header, *rows = listing.read_bytes().splitlines()
    assert header == b"address_bytes,expected,got,flipped_bits,pattern,step,pass"
    assert len(set(rows)) == len(rows) == 2_200_000
    for step in (0, 1):
        addresses = sorted(row[:14] for row in rows if row.endswith(b",own_address,%d,0" % step))
        assert len(addresses) == 1_100_000
        assert addresses[-1] == b"0x%012x" % (1_099_999 * 4)


def test_a_march_element_loses_no_failing_word(run_job: RunJob, tmp_path: Path) -> None:
    listing = tmp_path / "failing_words.csv"
    plant = Plant(4096, count=200_000, flip_bits=4)
    result, _ = run_job(memory_test(
        "moving_inversions", plants=(plant,), failing_words_path=str(listing),
    ))
    # three reads of each of eight bases: after the write, and after each inversion
    assert result.failing_words == 8 * 3 * 200_000
    assert result.bit_counts[2] == result.failing_words
    with listing.open() as rows:
        first = next(csv.DictReader(rows))
    assert int(first["expected"], 16) ^ int(first["got"], 16) == int(first["flipped_bits"], 16) == 4


def test_beyond_the_list_limit_words_are_still_counted(run_job: RunJob) -> None:
    plant = Plant(4096, count=300_000, flip_bits=0x10)
    result, _ = run_job(memory_test("solid", "march", list_limit=1000, plants=(plant,)))
    assert result.pattern_failures == {"solid": 3 * 300_000, "march": 6 * 5 * 300_000}
    assert result.bit_counts[4] == result.failing_words
    assert result.listed_words == 1000


def test_the_stride_of_failing_words_is_told(run_job: RunJob) -> None:
    plant = Plant(512, count=100, stride_bytes=2048, flip_bits=0x0700)
    result, _ = run_job(memory_test("solid", plants=(plant,)))
    assert result.stride_bytes == 2048
    apart = EngineTerm.APART(stride_bytes=2048)
    assert result.hint == EngineCause.ONE_BYTE(first_bit=8, last_bit=10, spacing=apart)
    told = catalogue("en").say(result.hint)
    assert "bits 8 to 10, one byte" in told
    assert "2048 bytes apart" in told


def test_a_job_opens_with_its_plan_and_tells_how_far_it_is(run_job: RunJob) -> None:
    _, events = run_job(memory_test("solid", "checkerboard", size=8 * MIB))
    assert isinstance(events[0], Started)
    assert events[0].plan.means(EngineNote.PLAN_MEMORY)
    assert "8 MiB" in catalogue("en").say(events[0].plan)
    told = [event for event in events if isinstance(event, Progress)]
    assert told
    assert all(0 < event.done <= event.total and event.unit == "B" for event in told)
    assert not [event for event in events if isinstance(event, FailingWord)]


def test_an_unknown_pattern_is_refused(run_job: RunJob) -> None:
    with pytest.raises(EngineError) as refused:
        run_job(memory_test("tartan"))
    assert refused.value.reason.means(PatternReason.UNKNOWN)
    assert refused.value.reason["pattern"] == "tartan"


def test_a_plant_outside_the_area_is_refused(run_job: RunJob) -> None:
    with pytest.raises(EngineError) as refused:
        run_job(memory_test("solid", plants=(Plant(SMALL),)))
    assert refused.value.reason == EngineReason.PLANT_OUTSIDE(
        words_planted=1, address_bytes=SMALL, area_bytes=SMALL
    )


def test_a_file_that_cannot_be_written_is_refused(run_job: RunJob, tmp_path: Path) -> None:
    with pytest.raises(EngineError) as refused:
        run_job(memory_test("solid", failing_words_path=str(tmp_path / "none" / "f.csv")))
    assert refused.value.reason.means(EngineReason.FAILING_WORDS_UNWRITTEN)


@pytest.fixture
def area(device: Device) -> VulkanArea:
    """Two buffers in one address range, as a card with more memory than a binding has."""
    assert isinstance(device, VulkanDevice)
    gpu = device._gpu
    buffers = [
        gpu.buffer(grains * GRAIN_WORDS * 4, "STORAGE", "COPY_SRC", "COPY_DST") for grains in (3, 5)
    ]
    return VulkanArea(gpu, buffers)


@pytest.mark.parametrize("name", NAMES)
def test_the_kernel_writes_the_words_of_the_processor_across_buffers(
    area: VulkanArea, name: str
) -> None:
    span = Span(0, area.words)
    for step in range(min(4, steps(name))):
        rule = recipe(name, step, 99)
        area.write(rule, span).finish()
        assert np.array_equal(area.read(0, area.words), words(name, step, 0, area.words, 99))
        assert len(area.check(rule, span).finish().addresses) == 0
    area.release()


def test_addresses_beyond_32_bits_are_written_and_found_right(device: Device) -> None:
    """A buffer whose address range crosses 2^32 words, without 16 GiB of memory to reach it."""

    class Far(Layout):
        def pieces(self, first: int, words: int) -> list:  # type: ignore[type-arg]
            from dataclasses import replace

            return [replace(p, first=p.first + 2**32 - 4096) for p in super().pieces(first, words)]

    assert isinstance(device, VulkanDevice)
    buffer = device._gpu.buffer(8 * GRAIN_WORDS * 4, "STORAGE", "COPY_SRC", "COPY_DST")
    area = VulkanArea(device._gpu, [buffer])
    area._layout = Far([8 * GRAIN_WORDS])
    span = Span(0, area.words)
    for name in ("own_address", "pseudo_random", "walking_bits"):
        rule = recipe(name, 1, 5)
        area.write(rule, span).finish()
        assert np.array_equal(
            area.read(0, area.words), words(name, 1, 2**32 - 4096, area.words, 5)
        )
        flipped = area.read(5000, 1) ^ np.uint32(2)
        area.overwrite(5000, flipped)
        found = area.check(rule, span).finish()
        assert found.addresses.tolist() == [2**32 - 4096 + 5000]
        assert found.got.tolist() == flipped.tolist()
    area.release()


@pytest.mark.parametrize("parity", [0, 1])
@pytest.mark.parametrize("descending", [False, True])
def test_a_march_element_treats_every_second_tile(
    area: VulkanArea, parity: int, descending: bool
) -> None:
    old, new = recipe("solid", 0, 1), recipe("solid", 1, 1)
    assert old.kind is RecipeKind.ALTERNATE
    span = Span(0, area.words)
    area.write(old, span).finish()
    found = area.check_then_write(old, new, span, Tiles(parity, descending)).finish()
    assert len(found.addresses) == 0
    tiles = area.read(0, area.words).reshape(-1, 1024)
    assert np.all(tiles[parity::2] == 0xFFFFFFFF)
    assert np.all(tiles[1 - parity :: 2] == 0)
    assert area.check(old, span, Tiles(1 - parity)).finish().addresses.size == 0
    assert area.check(old, span, EVERY_TILE).finish().addresses.size == area.words // 2
    area.release()


@pytest.mark.parametrize("tile", [0, 3, 7, 8, 15])
def test_a_march_element_writes_all_of_a_block_in_which_one_tile_fails(
    device: Device, tile: int
) -> None:
    """Blocks are of eight tiles: what fails is listed once, and the others are written as ever."""
    assert isinstance(device, VulkanDevice)
    buffer = device._gpu.buffer(16 * 4096, "STORAGE", "COPY_SRC", "COPY_DST")
    area = VulkanArea(device._gpu, [buffer])
    old, new = recipe("solid", 0, 1), recipe("solid", 1, 1)
    span, places = Span(0, area.words), [tile * 1024, tile * 1024 + 1023]
    area.write(old, span).finish()
    for place in places:
        area.overwrite(place, np.array([64], np.uint32))
    found = area.check_then_write(old, new, span, EVERY_TILE).finish()
    assert sorted(found.addresses.tolist()) == places
    assert found.got.tolist() == [64, 64]
    assert np.all(area.read(0, area.words) == 0xFFFFFFFF)
    area.release()


def test_kernels_that_were_not_asked_for_are_made_when_they_are_used(device: Device) -> None:
    assert isinstance(device, VulkanDevice)
    buffer = device._gpu.buffer(4 * GRAIN_WORDS * 4, "STORAGE", "COPY_SRC", "COPY_DST")
    none = frozenset[RecipeKind]()
    area = VulkanArea(device._gpu, [buffer], AreaWanted(1.0, kinds=none, marched=none))
    rule, span = recipe("pseudo_random", 0, 3), Span(0, area.words)
    area.write(rule, span).finish()
    assert len(area.check_then_write(rule, rule, span, EVERY_TILE).finish().addresses) == 0
    area.release()


def test_the_time_of_kernels_is_counted_where_it_is_asked_for(area: VulkanArea) -> None:
    rule, span = recipe("solid", 0, 1), Span(0, area.words)
    area.write(rule, span).finish()
    assert area.kernel_s == 0.0
    assert area.time_kernels()
    area.write(rule, span).finish()
    assert area.kernel_s > 0.0
    area.release()
