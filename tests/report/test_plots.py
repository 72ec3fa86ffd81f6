"""The static plot and the data behind both plots."""

from __future__ import annotations

import itertools
from importlib.resources import files
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.record.reader import read_record
from burnin.report.languages.catalogue import catalogue
from burnin.report.plots.interactive import LIBRARY, figure, interactive_plot
from burnin.report.plots.line_names import apart
from burnin.report.plots.plot_data import Line
from burnin.report.plots.series import plot_data
from burnin.report.plots.static import static_plot
from burnin.report.plots.thinning import thinned
from burnin.stages.whole_run.meanings import WholeRunReason, WholeRunTerm
from tests.report import records

WORDS = catalogue("en")
LICENCE = files("burnin.report.templates") / "plotly-basic.LICENSE"
SVG = "{http://www.w3.org/2000/svg}"


def svg_text(svg: str) -> str:
    root = ElementTree.fromstring(svg)
    return "\n".join("".join(element.itertext()) for element in root.iter(f"{SVG}text"))


def test_the_plot_names_verdict_limits_stages_forecast_and_stop(tmp_path: Path) -> None:
    svg = static_plot(plot_data(read_record(records.aborted().write(tmp_path / "r")), WORDS))
    text = svg_text(svg)
    for words in (
        "STOPPED BY A GUARD",
        "SIMULATED MACHINE — says nothing of a real card",
        "stopped by a guard",
        "GPU guard 90",
        "memory guard 105",
        "guard forecast",
        "width, at least 16",
        "4 Memory",
    ):
        assert words in text


def test_every_ending_has_a_plot_with_the_banner(any_record: Path) -> None:
    svg = static_plot(plot_data(read_record(any_record), WORDS))
    assert "SIMULATED MACHINE" in svg_text(svg)


def test_curves_and_limits_of_a_panel_differ_without_colour(tmp_path: Path) -> None:
    data = plot_data(read_record(records.aborted().write(tmp_path / "r")), WORDS)
    for panel in data.panels:
        dashes = [line.dash for line in panel.lines]
        assert len(set(dashes)) == len(dashes)


def test_limits_come_from_guards_and_from_judged_readings(tmp_path: Path) -> None:
    data = plot_data(read_record(records.passed().write(tmp_path / "r")), WORDS)
    panels = {panel.name: panel for panel in data.panels}
    temperature = {(line.label, line.value) for line in panels["temperature"].limits}
    assert temperature == {
        ("GPU guard", 90.0),
        ("memory guard", 105.0),
        ("GPU, at most", 85.0),
    }
    (power,) = panels["power"].limits
    assert (power.value, power.from_s, power.to_s) == (60.0, 222.0, 560.0)


def test_a_limit_on_a_difference_or_a_rate_is_not_drawn_as_a_temperature(tmp_path: Path) -> None:
    draft = records.passed()
    draft.reading("6-thermal_ramp", "gpu_temp_drift_c", 0.4, "°C", upper_limit=3)
    draft.facts["guards"] = {"gpu_temp_rate_limit_c_per_s": 8.0, "temp_margin_c": 2.0}
    data = plot_data(read_record(draft.write(tmp_path / "r")), WORDS)
    assert [limit.value for limit in data.panels[0].limits] == [85.0]


def test_forecasts_start_on_the_curve_and_end_on_the_limit(tmp_path: Path) -> None:
    data = plot_data(read_record(records.aborted().write(tmp_path / "r")), WORDS)
    forecasts = data.panels[0].forecasts
    assert [(f.from_s, round(f.to_s, 3)) for f in forecasts] == [
        (236.0, 260.0),
        (244.0, 256.5),
        (251.0, 252.6),
    ]
    assert {f.to_value for f in forecasts} == {90.0}
    line = data.panels[0].lines[0]
    measured = dict(zip(line.x_s, line.y, strict=True))
    assert all(measured[f.from_s] == f.from_value for f in forecasts)


def test_many_forecasts_are_thinned_to_the_pressing_ones(tmp_path: Path) -> None:
    draft = records.passed()
    for second in range(230, 500):
        ahead = 100.0 if second != 333 else 2.0
        detail = {"guard": "g", "signal": "gpu_temp_c", "limit": 90.0}
        draft.event(float(second), "ForecastMade", "", **detail, crossing_in_s=ahead)
    forecasts = plot_data(read_record(draft.write(tmp_path / "r")), WORDS).panels[0].forecasts
    assert len(forecasts) <= 5
    assert 333.0 in [f.from_s for f in forecasts]


def test_no_sign_in_a_title_is_taken_for_mathematics(tmp_path: Path) -> None:
    draft = records.passed()
    draft.facts["card"]["name"] = r"$\frac{ 5 & <b> 👩‍🔧"
    svg = static_plot(plot_data(read_record(draft.write(tmp_path / "r")), WORDS))
    assert r"$\frac{ 5 & <b> 👩‍🔧" in svg_text(svg)


def test_the_same_record_gives_the_same_plot(tmp_path: Path) -> None:
    first, second = (
        static_plot(plot_data(read_record(records.passed().write(tmp_path / name)), WORDS))
        for name in "ab"
    )
    assert first == second


VALUES = st.lists(st.none() | st.floats(-1e6, 1e6), min_size=1, max_size=400)


@given(VALUES, st.integers(4, 60))
def test_a_thinned_curve_keeps_its_ends_and_its_extremes(
    values: list[float | None], most: int
) -> None:
    line = Line("", "", "solid", tuple(map(float, range(len(values)))), tuple(values))
    thin = thinned(line, most)
    assert len(thin.x_s) <= max(most, 2) + 2
    assert {(x, y) for x, y in zip(thin.x_s, thin.y, strict=True)} <= set(
        zip(line.x_s, line.y, strict=True)
    )
    assert list(thin.x_s) == sorted(set(thin.x_s))
    assert (thin.x_s[0], thin.x_s[-1]) == (line.x_s[0], line.x_s[-1])
    measured = [value for value in values if value is not None]
    kept = [value for value in thin.y if value is not None]
    if measured:
        assert (min(kept), max(kept)) == (min(measured), max(measured))


@pytest.mark.parametrize("name", ["samples.csv", "journal.csv", "readings.csv"])
def test_a_missing_file_still_gives_a_plot(tmp_path: Path, name: str) -> None:
    folder = records.passed().write(tmp_path / "r")
    (folder / name).unlink()
    assert "<svg" in static_plot(plot_data(read_record(folder), WORDS))


@given(
    st.lists(st.floats(-100, 100), min_size=1, max_size=12), st.floats(0.1, 5.0),
)  # fmt: skip
def test_names_beside_lines_stand_apart_and_in_order(heights: list[float], least: float) -> None:
    top = max(heights)
    found = apart(heights, least, top)
    order = sorted(range(len(heights)), key=heights.__getitem__)
    placed = [found[place] for place in order]
    assert all(b - a >= least - 1e-9 for a, b in itertools.pairwise(placed))
    assert max(found) <= top + 1e-9


def test_the_moment_that_decided_stands_in_its_panel_in_words(tmp_path: Path) -> None:
    draft = records.failed()
    draft.reading(
        "", "whole_run_width_lanes", 4.0, "lanes", verdict="fail", lower_limit=16,
        reason=WIDTH_FELL,
    )  # fmt: skip
    data = plot_data(read_record(draft.write(tmp_path / "r")), WORDS)
    (moment,) = data.moments
    assert (moment.at_s, moment.panel) == (176.0, "width")
    assert moment.text == "x16 to x4 at 2 min 56 s (at 50 % load, GPU at 52 °C)"
    notes = [note["text"] for note in figure(data)["layout"]["annotations"]]
    assert f"<b>{moment.text}</b>" in notes
    assert moment.text in svg_text(static_plot(data))


@pytest.mark.parametrize(
    ("fell_s", "left_s"), [(50.0, 50.0), (0.0, 40.0)], ids=["on the way", "from its beginning"]
)
def test_a_stage_that_failed_is_marked_where_its_curve_left_the_limit(
    tmp_path: Path, fell_s: float, left_s: float
) -> None:
    draft = records.failed()
    for row in draft.samples:
        row["link_speed_gts"] = 16.0 if float(str(row["elapsed_s"])) < fell_s else 8.0
    draft.reading("3-link", "link_speed_gts", 8.0, "GT/s", verdict="fail", lower_limit=16)
    data = plot_data(read_record(draft.write(tmp_path / "r")), WORDS)
    (moment,) = [moment for moment in data.moments if moment.panel == "link"]
    assert moment.at_s == pytest.approx(left_s, abs=1.0)
    assert moment.text.startswith("8 GT/s (allowed ≥ 16 GT/s) at ")


def test_the_page_for_the_screen_is_light_and_its_library_that_of_the_package(
    tmp_path: Path,
) -> None:
    """plotly's Python package carries the whole of the same library: both are of one version."""
    from plotly.offline import get_plotlyjs_version

    assert f"v{get_plotlyjs_version()}" in LIBRARY.read_text(encoding="utf-8")[:200]
    assert "MIT" in LICENCE.read_text(encoding="utf-8")
    page = interactive_plot(plot_data(read_record(records.passed().write(tmp_path / "r")), WORDS))
    assert len(page.encode()) < 1_500_000


def test_the_plotting_library_takes_every_part_of_the_figure(tmp_path: Path) -> None:
    """Its own schema judges: an unknown key or value raises ValueError."""
    import plotly.graph_objects as go

    data = plot_data(read_record(records.aborted().write(tmp_path / "r")), WORDS)
    go.Figure(figure(data))


WIDTH_FELL = WholeRunReason.WIDTH_FELL(
    lanes=4.0, shown_lanes=16.0, at_s=176.0, for_s=60.0, stage="6-thermal_ramp",
    conditions=(WholeRunTerm.LOAD(load_pct=50.0), WholeRunTerm.TEMPERATURE(gpu_temp_c=52.0)),
)  # fmt: skip
