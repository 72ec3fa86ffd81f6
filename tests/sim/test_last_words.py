"""The simulated engine tests its area to the last word, by every family."""

from __future__ import annotations

import pytest

from burnin.engine.job import MemoryResult, MemoryTest
from tests.engine.published_families import NAMES
from tests.sim.machines import bench_of, with_causes, work

AREA_BYTES = 64 << 20
GRAIN_BYTES = 8192
LAST, GRAIN = AREA_BYTES - 4, AREA_BYTES - GRAIN_BYTES


@pytest.mark.parametrize("pattern", NAMES)
def test_the_last_word_and_the_last_grain_are_tested(pattern: str) -> None:
    cells = [
        {"kind": "memory_cell", "address": address, "bit": 9, "stuck_at": stuck}
        for address, stuck in ((GRAIN, 1), (LAST, 0), (AREA_BYTES, 1))
    ]
    bench = bench_of(with_causes("healthy", *cells))
    result = work(bench, MemoryTest(1.0, (pattern,), max_bytes=AREA_BYTES))[-1]
    assert isinstance(result, MemoryResult)
    assert result.tested_bytes == AREA_BYTES
    assert {word.address_bytes for word in result.examples} == {GRAIN, LAST}
