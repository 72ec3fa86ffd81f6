"""Before and after: one record beside another, or beside all passes of its profile."""

from __future__ import annotations

import json
import statistics
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import median_abs_deviation

from burnin.cli.comparison.as_json import comparison_json
from burnin.cli.comparison.comparing import compare_and_tell
from burnin.core.errors import BadInput, RecordError
from burnin.ticket.comparison.comparison import Comparison, compare_records
from burnin.ticket.comparison.rows import Row
from burnin.ticket.comparison.spread import CHANCE, FAR, far_from, robust_spread
from tests.refusals import refused
from tests.report import records

NUMBERS = st.floats(min_value=-1e6, max_value=1e6)


def write(results: Path, name: str, resistance: float, verdict: str = "pass") -> Path:
    draft = records.passed()
    draft.samples = draft.samples[::40]
    draft.facts |= {"run_id": name, "verdict": verdict}
    row = next(r for r in draft.readings if r["reading"] == "thermal_resistance_k_per_w")
    row["value"] = resistance
    return draft.write(results / name / "run")


@given(st.lists(NUMBERS, min_size=1, max_size=30))
def test_median_and_spread_agree_with_scipy(values: list[float]) -> None:
    # scipy's scale "normal" divides by 0.67448975 = the 75 % point of the normal distribution.
    middle, spread = robust_spread(values)
    assert middle == pytest.approx(float(np.median(values)))
    expected = float(median_abs_deviation(values, scale="normal"))
    assert spread == pytest.approx(expected, rel=1e-4, abs=1e-9)


RESISTANCE = "thermal_resistance_k_per_w"


def row_of(found: Comparison, reading: str) -> Row:
    return next(row for row in found.rows if row.reading == reading)


def lines(
    mine: Path, others: list[Path], results: Path, width: int = 80, language: str = "en"
) -> list[str]:
    told = compare_and_tell(
        mine, others, results, None, language, all_rows=False, as_json=False, width=width
    )
    return list(told)


@pytest.mark.parametrize("count", [5, 6, 8, 10, 12, 15])
def test_one_sound_value_in_a_hundred_lies_far_off_by_chance(count: int) -> None:
    drawn = np.random.default_rng(20)
    group = drawn.standard_normal((40_000, count))
    middle = np.median(group, axis=1)
    spread = median_abs_deviation(group, axis=1, scale="normal")
    off = np.abs(drawn.standard_normal(40_000) - middle) / spread
    assert (off > far_from(count)).mean() == pytest.approx(CHANCE, abs=0.002)


def test_beside_too_few_nothing_is_far_off_and_beside_many_the_published_score_holds() -> None:
    assert far_from(4) == float("inf")
    assert far_from(500) == FAR


def test_a_value_far_off_is_told_first_with_what_it_rests_on(tmp_path: Path) -> None:
    values = [0.150 + 0.002 * n for n in range(14)]
    for number, value in enumerate(values):
        write(tmp_path, f"card-{number}", value)
    write(tmp_path, "failed", 5.0, "fail")
    mine = write(tmp_path, "mine", 0.35)
    row = row_of(compare_records(mine, (), tmp_path), RESISTANCE)
    assert row.count == 14
    assert row.other.value == pytest.approx(statistics.median(values))
    assert row.far
    told = lines(mine, [], tmp_path, width=200)
    assert told[1].startswith("1 Heat under rising load: Thermal resistance: 0.35")
    assert "14 known-good runs" in told[2]


def test_a_value_within_the_spread_does_not_matter(tmp_path: Path) -> None:
    for number in range(8):
        write(tmp_path, f"card-{number}", 0.150 + 0.01 * number)
    mine = write(tmp_path, "mine", 0.21)
    found = compare_records(mine, (), tmp_path)
    assert found.findings == ()
    assert lines(mine, [], tmp_path)[2] == "= Nothing that differs matters."


def test_a_torn_record_counts_with_what_is_whole(tmp_path: Path) -> None:
    folders = [write(tmp_path, f"card-{n}", 0.1 + n / 100) for n in range(5)]
    torn = folders[2] / "readings.csv"
    text = torn.read_text("utf-8")
    torn.write_text(text[: text.index("heat_given_j") + 5], "utf-8")
    (folders[2] / "checksums.sha256").unlink(missing_ok=True)  # a power cut leaves none
    found = compare_records(folders[0], (), tmp_path)
    assert (row_of(found, RESISTANCE).count, row_of(found, "heat_given_j").count) == (4, 3)


def test_two_records_are_drawn_in_one_plot(tmp_path: Path) -> None:
    before, after = write(tmp_path, "before", 0.31), write(tmp_path, "after", 0.16)
    told = lines(after, [before], tmp_path, width=300)
    assert any("too few" in line.lower() for line in told)
    drawing = Path(told[-1].removeprefix("plot").strip())
    text = drawing.read_text("utf-8")
    assert "before (SIMULATED pass)" in text
    assert "SIMULATED MACHINE" in text
    assert drawing.parent == after.parent
    row = row_of(compare_records(after, (before,), tmp_path), RESISTANCE)
    assert (row.own.value, row.other.value) == (0.16, 0.31)


def test_known_good_records_are_drawn_as_a_band(tmp_path: Path) -> None:
    for number in range(5):
        write(tmp_path, f"card-{number}", 0.15)
    told = lines(write(tmp_path, "mine", 0.15), [], tmp_path, width=300)
    text = Path(told[-1].removeprefix("plot").strip()).read_text("utf-8")
    assert "5 known-good runs, lowest to highest" in text


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("width", [60, 80, 120])
def test_no_line_is_wider_than_the_terminal(width: int, language: str, tmp_path: Path) -> None:
    for number in range(6):
        write(tmp_path, f"card-{number}", 0.15 + number / 100)
    told = lines(write(tmp_path, "mine", 0.9), [], tmp_path, width, language)
    assert max(len(line) for line in told[:-1]) <= width


def test_a_machine_reads_codes_and_numbers(tmp_path: Path) -> None:
    for number in range(6):
        write(tmp_path, f"card-{number}", 0.15 + number / 1000)
    found = compare_records(write(tmp_path, "mine", 0.9), (), tmp_path)
    content = json.loads(json.dumps(comparison_json(found), allow_nan=False))
    assert content["format"] == 1
    assert content["basis"][0] == {"code": "ticket_compared_with_spread", "records_count": 6}
    (finding,) = content["findings"]
    assert (finding["stage_kind"], finding["reading"]) == ("thermal_ramp", RESISTANCE)
    row = next(row for row in content["rows"] if row["reading"] == RESISTANCE)
    assert (row["unit"], row["value"], row["far"]) == ("K/W", 0.9, True)


def test_what_cannot_be_compared_is_said(tmp_path: Path) -> None:
    mine = write(tmp_path, "mine", 0.2)
    with refused(BadInput, match="no other pass of profile"):
        compare_records(mine, (), tmp_path)
    with refused(BadInput, match="named twice"):
        compare_records(mine, (mine,), tmp_path)
    with refused(RecordError, match=r"holds no run\.json"):
        compare_records(tmp_path / "none", (), tmp_path)
    (mine / "readings.csv").write_text("stage,reading\n")
    with refused(BadInput, match="no measured number"):
        compare_records(mine, (), tmp_path)


def test_a_drawing_never_lies_in_a_ticket_s_folder_where_it_would_count_as_added(
    tmp_path: Path,
) -> None:
    before, after = write(tmp_path, "815", 0.1), write(tmp_path / "815", "second", 0.2)
    (tmp_path / "815" / "ticket").mkdir()
    (tmp_path / "815" / "ticket" / "events.jsonl").touch()
    told = list(compare_and_tell(
        before, [after], tmp_path, None, "en", all_rows=False, as_json=False, width=80
    ))  # fmt: skip
    drawn = tmp_path / "compared" / "run-beside-run.svg"
    assert drawn.exists()
    assert str(drawn) in told[-1]
    assert not list((tmp_path / "815").glob("*.svg"))
