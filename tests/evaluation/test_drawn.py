"""The scenarios of another hand are led past the guards as a file is replayed."""

from __future__ import annotations

import io
import math

import pytest

from burnin.core.errors import BadInput
from burnin.replay.recording_file import open_recording
from tests.evaluation.drawn import Result, judge, text_of, told
from tests.others.thermal.drawn import scenario
from tests.refusals import refused


def test_what_the_bench_knows_stands_at_the_head_of_the_recording() -> None:
    for seed in range(6):
        drawn = scenario(seed)
        known = open_recording("drawn", io.StringIO(text_of(drawn))).known
        assert known.limit_c == pytest.approx(drawn.bench.limit_c, rel=1e-4)
        assert (known.plan is None) == (drawn.rows.planned_w is None)


def test_a_stop_is_scored_by_what_follows_it() -> None:
    def result(stop_s: float | None, crossing_s: float | None, cause: str = "fan") -> Result:
        return Result(
            0, "air", cause, "mild", 10.0, crossing_s, None, 31.0, stop_s, "forecast", False
        )

    assert result(20.0, 30.0).lead_s == 10.0
    assert result(None, 30.0).lead_s == -math.inf
    stops = (result(20.0, 30.0), result(None, 30.0), result(5.0, None))
    lines = told([*stops, result(5.0, None, "none")])
    assert any(line.startswith("missed: 50.0 %") for line in lines)
    assert any(
        line.startswith("the reading was over its limit before the stop: 50.0 %") for line in lines
    )
    assert any(line.startswith("false stops of sound cards: 100.0 %") for line in lines)
    assert any(line.startswith("before the fault: 33.3 %") for line in lines)


def test_a_warning_is_scored_by_the_crossing_that_it_speaks_of() -> None:
    def result(warned_s: float | None, crossing_s: float | None, cause: str = "fan") -> Result:
        return Result(
            0, "air", cause, "mild", 10.0, crossing_s, None, None, None, "", False, warned_s
        )

    assert result(20.0, 65.0).warned_before_s == 45.0
    assert result(70.0, 65.0).warned_before_s == result(None, 65.0).warned_before_s == 0.0
    lines = told(
        [result(20.0, 65.0), result(None, 65.0), result(5.0, None), result(5.0, None, "none")]
    )
    for line in (
        "sound cards warned of: 100.0 %",
        "warned of before the fault: 33.3 %",
        "warned of before they crossed: 50.0 %",
        "of those warned of, to cross: 33.3 %",
    ):
        assert any(one.startswith(line) for one in lines)


@pytest.mark.long
def test_most_of_a_few_end_as_they_must() -> None:
    """Too few for rates, enough to see a guard that broke; what 600 gave: `gave.txt` there."""
    results = [judge(seed) for seed in range(40)]
    sound = [r for r in results if r.cause == "none"]
    due = [r for r in results if r.crossing_s is not None]
    assert sum(r.stop_s is not None for r in sound) <= 0.15 * len(sound)
    assert sum(r.exceeds for r in due) <= 0.1 * len(due)


@pytest.mark.parametrize("head", ["limit_c = 141", "hotspot_limit_c = 141", "ambient_c = 300"])
def test_a_limit_that_no_guard_takes_is_refused_with_its_line(head: str) -> None:
    text = f"# {head}\ntime_s,power_w,gpu_temp_c\n0,20,30\n"
    with refused(BadInput, match=r"line 1: .* is allowed"):
        open_recording("r.csv", io.StringIO(text))
