"""The CUDA engine on a real card; skipped where there is none (no software plays one)."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from burnin.core.errors import EngineUnavailable
from burnin.engine.device.area import EVERY_TILE, GRAIN_WORDS, Span, Tiles
from burnin.engine.device.device import Device
from burnin.engine.device.patterns import recipe, steps, words
from burnin.engine.job import (
    ArithmeticLoad,
    Job,
    LinkTraffic,
    MemoryTest,
    Plant,
    RepeatedCompute,
    ResultPlant,
    WorkEvent,
)
from burnin.engine.process.started import started
from burnin.engine.work import LoadShare
from tests.engine.published_families import NAMES

MIB = 2**20


@pytest.fixture(scope="module")
def card() -> Iterator[Device]:
    from burnin.engine.cuda.device import open_cuda

    try:
        opened = open_cuda("")
    except EngineUnavailable as error:
        pytest.skip(str(error))
    yield opened
    opened.close()


def run(card: Device, job: Job, at_most_s: float = 1e9) -> Any:
    events: list[WorkEvent] = []
    work = started(card, job, LoadShare(1.0), events.append)
    began_s = time.monotonic()
    try:
        slices = work.slices()
        for rest_s in slices:
            time.sleep(rest_s)
            if time.monotonic() - began_s > at_most_s:
                break
        slices.close()  # type: ignore[attr-defined]
        return work.result()
    finally:
        work.release()


@pytest.mark.parametrize("name", NAMES)
def test_the_kernel_writes_the_words_of_the_processor(card: Device, name: str) -> None:
    from burnin.engine.device.area import AreaWanted

    area = card.take_area(AreaWanted(1.0, max_bytes=4 * MIB)).area
    span = Span(0, area.words)
    for step in range(min(4, steps(name))):
        rule = recipe(name, step, 99)
        area.write(rule, span).finish()
        assert np.array_equal(area.read(0, area.words), words(name, step, 0, area.words, 99))
        assert len(area.check(rule, span).finish().addresses) == 0
    area.release()


@pytest.mark.parametrize("pattern", NAMES)
def test_a_flipped_bit_is_found_at_its_address(card: Device, pattern: str) -> None:
    plant = Plant(address_bytes=4096 * 77 + 8, flip_bits=1 << 19)
    result = run(card, MemoryTest(1.0, (pattern,), max_bytes=256 * MIB, plants=(plant,)))
    assert {w.address_bytes for w in result.examples} == {plant.address_bytes}
    assert {w.expected ^ w.got for w in result.examples} == {1 << 19}
    assert run(card, MemoryTest(1.0, (pattern,), max_bytes=256 * MIB)).failing_words == 0


@pytest.mark.parametrize("pattern", NAMES)
def test_the_last_word_and_the_last_grain_are_tested(card: Device, pattern: str) -> None:
    size = 256 * MIB + 3 * GRAIN_WORDS * 4
    grain, last = size - GRAIN_WORDS * 4, size - 4
    plants = (Plant(grain, flip_bits=1 << 2), Plant(last, flip_bits=1 << 31))
    result = run(card, MemoryTest(1.0, (pattern,), max_bytes=size, plants=plants))
    assert result.tested_bytes == size
    assert {w.address_bytes for w in result.examples} == {grain, last}


def test_millions_of_failing_words_are_all_counted_and_listed(
    card: Device, tmp_path: Path
) -> None:
    listing = tmp_path / "failing_words.csv"
    plant = Plant(0, count=3_000_000, flip_bits=0x80000001)
    result = run(card, MemoryTest(
        1.0, ("own_address", "moving_inversions"), max_bytes=64 * MIB, plants=(plant,),
        failing_words_path=str(listing), list_limit=7_000_000,
    ))
    assert result.pattern_failures == {
        "own_address": 2 * 3_000_000, "moving_inversions": 24 * 3_000_000,
    }
    assert result.bit_counts[0] == result.bit_counts[31] == result.failing_words
    assert result.listed_words == 7_000_000
    assert len(listing.read_bytes().splitlines()) == 7_000_001


def test_a_march_element_treats_every_second_tile(card: Device) -> None:
    from burnin.engine.device.area import AreaWanted

    area = card.take_area(AreaWanted(1.0, max_bytes=4 * MIB)).area
    old, new = recipe("solid", 0, 1), recipe("solid", 1, 1)
    span = Span(0, area.words)
    for parity in (0, 1):
        for descending in (False, True):
            area.write(old, span).finish()
            found = area.check_then_write(old, new, span, Tiles(parity, descending)).finish()
            assert len(found.addresses) == 0
            tiles = area.read(0, area.words).reshape(-1, 1024)
            assert np.all(tiles[parity::2] == 0xFFFFFFFF)
            assert np.all(tiles[1 - parity :: 2] == 0)
            assert area.check(old, span, EVERY_TILE).finish().addresses.size == area.words // 2
    area.release()


def test_repeats_equal_the_first_and_the_processor(card: Device) -> None:
    result = run(card, RepeatedCompute(seconds=1.0, seed=7))
    assert result.mismatches == 0
    assert set(result.reference_failures.values()) == {0}
    assert "integer" in result.results


@pytest.mark.parametrize("bit", [0, 9, 23, 30, 31])
def test_flipped_results_are_found_and_located(card: Device, bit: int) -> None:
    units = run(card, RepeatedCompute(seconds=0.1)).results
    plants = tuple(ResultPlant(unit, 123_457, 3, 1 << bit) for unit in units)
    result = run(card, RepeatedCompute(seconds=1.0, plants=plants))
    assert {m.unit for m in result.examples} == set(units)
    assert {m.index for m in result.examples} == {123_457}
    assert {m.expected ^ m.got for m in result.examples} == {1 << bit}
    assert result.mismatches == len(units)


@pytest.mark.parametrize("direction", ["to_card", "to_host", "both"])
def test_every_byte_arrives(card: Device, direction: str) -> None:
    result = run(card, LinkTraffic(seconds=1.0, direction=direction))
    assert result.wrong_words == 0
    assert (result.to_card_bytes > 0) == (direction != "to_host")
    assert (result.to_host_bytes > 0) == (direction != "to_card")


def test_the_load_works(card: Device) -> None:
    assert run(card, ArithmeticLoad(), at_most_s=1.0).operations > 0
