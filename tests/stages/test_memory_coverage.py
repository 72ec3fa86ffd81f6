"""How much of the memory was tested: in GiB of 2^30 bytes, of what is free and of all there is."""

from __future__ import annotations

import pytest

from burnin.core.reading import NotMeasured, Reading, Verdict
from burnin.engine.job import MemoryResult
from burnin.stages.memory.coverage_readings import coverage_readings
from burnin.stages.memory.meanings import MemoryReason
from burnin.stages.memory.settings import Memory

GIB_BYTES = 1_073_741_824
NO_FIGURE = NotMeasured(MemoryReason.FREE_UNKNOWN())


def covered(
    tested_gib: float, free_gib: float = 22.0, total_gib: float = 24.0, **said: float
) -> dict[str, Reading]:
    result = MemoryResult(
        int(tested_gib * GIB_BYTES), int(free_gib * GIB_BYTES), int(total_gib * GIB_BYTES),
        10.0, {"solid": 0}, 0, (0,) * 32, (),
    )  # fmt: skip
    settings = Memory.model_validate({"stage": "memory", **said})
    return {r.name: r for r in coverage_readings(settings, result, NO_FIGURE, 0)}


def test_what_was_tested_is_told_in_gib_of_two_to_the_thirtieth_bytes() -> None:
    assert covered(22.0)["tested_gib"].value == 22.0
    assert covered(0.5)["tested_gib"].value == 0.5


@pytest.mark.parametrize(("tested_gib", "passes"), [(21.61, True), (21.59, False), (12.0, False)])
def test_less_of_all_memory_than_the_profile_asks_fails(tested_gib: float, passes: bool) -> None:
    """Nine tenths of 24 GiB are 21.6; what others use of a card counts as not tested."""
    found = covered(tested_gib, tested_gib, share_of_all_at_least=0.9)["share_of_all_tested"]
    assert found.verdict is (Verdict.PASS if passes else Verdict.FAIL)
    assert found.required
    if not passes:
        assert found.reason == MemoryReason.IN_USE()


@pytest.mark.parametrize(("tested_gib", "passes"), [(20.9, True), (20.8, False)])
def test_less_of_the_free_memory_than_the_profile_asks_fails(
    tested_gib: float, passes: bool
) -> None:
    found = covered(tested_gib, 22.0, share_of_free=0.95)["share_of_free_tested"]
    assert found.verdict is (Verdict.PASS if passes else Verdict.FAIL)


def test_a_share_of_an_unknown_whole_is_not_measured() -> None:
    found = covered(20.0, 0.0, 0.0)
    for name in ("share_of_free_tested", "share_of_all_tested"):
        assert (found[name].verdict, found[name].required) == (Verdict.NOT_MEASURED, True)
