"""Before and after: one record beside another, or beside all passes of its profile."""

from __future__ import annotations

import statistics
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import median_abs_deviation

from burnin.cli.comparison_lines import table_lines
from burnin.core.errors import BadInput, RecordError
from burnin.report.languages.catalogue import catalogue
from burnin.ticket.comparison.comparison import compare_records, numbers_of, robust_spread
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


def test_a_value_far_off_is_told_in_spreads(tmp_path: Path) -> None:
    values = [0.150 + 0.002 * n for n in range(14)]
    for number, value in enumerate(values):
        write(tmp_path, f"card-{number}", value)
    write(tmp_path, "failed", 5.0, "fail")
    mine = write(tmp_path, "mine", 0.20)
    found = compare_records(mine, None, tmp_path)
    row = next(r for r in found.rows if r.reading == "thermal_resistance_k_per_w")
    assert row.count == 14
    assert row.other == pytest.approx(statistics.median(values))
    assert row.spreads is not None
    lines = table_lines(found, catalogue("en"))
    told = [line for line in lines if "spreads above the other 14" in line]
    opening = f"Thermal resistance (6-thermal_ramp) is {row.spreads:.1f} spreads"
    assert told == [f"{opening} above the other 14 passes"]


def test_a_torn_record_counts_with_what_is_whole(tmp_path: Path) -> None:
    folders = [write(tmp_path, f"card-{n}", 0.1 + n / 100) for n in range(5)]
    torn = folders[2] / "readings.csv"
    text = torn.read_text("utf-8")
    torn.write_text(text[: text.index("heat_given_j") + 5], "utf-8")
    kept, lost = (
        ("6-thermal_ramp", name) for name in ("thermal_resistance_k_per_w", "heat_given_j")
    )
    assert numbers_of(folders[2])[kept].value == pytest.approx(0.12)
    assert lost not in numbers_of(folders[2])
    found = compare_records(folders[0], None, tmp_path)
    counts = {(row.stage, row.reading): row.count for row in found.rows}
    assert (counts[kept], counts[lost]) == (4, 3)


def test_two_records_are_drawn_in_one_plot(tmp_path: Path) -> None:
    before, after = write(tmp_path, "before", 0.31), write(tmp_path, "after", 0.16)
    found = compare_records(after, before, tmp_path)
    assert found.plot is not None
    drawing = found.plot.read_text("utf-8")
    assert "before (SIMULATED pass)" in drawing
    assert "SIMULATED MACHINE" in drawing
    assert found.plot.parent == after.parent
    row = next(r for r in found.rows if r.reading == "thermal_resistance_k_per_w")
    assert (row.value, row.other) == (0.16, 0.31)


def test_what_cannot_be_compared_is_said(tmp_path: Path) -> None:
    mine = write(tmp_path, "mine", 0.2)
    with pytest.raises(BadInput, match="0 other passes"):
        compare_records(mine, None, tmp_path)
    with pytest.raises(RecordError, match=r"holds no run\.json"):
        compare_records(tmp_path / "none", None, tmp_path)
    (mine / "readings.csv").write_text("stage,reading\n")
    with pytest.raises(BadInput, match="no measured number"):
        compare_records(mine, None, tmp_path)
