"""Bands, warnings and stops in plots: a record's own, and what `replay --plot` draws."""

from __future__ import annotations

import io
from pathlib import Path
from xml.etree import ElementTree

import pytest

from burnin.core.errors import BadInput
from burnin.core.foreseen import Foreseen
from burnin.record.reader import read_record
from burnin.replay.case import case_of_recording
from burnin.replay.course import Course, course_of
from burnin.replay.recording_file import open_recording
from burnin.report.languages.catalogue import catalogue
from burnin.report.plots.interactive import figure
from burnin.report.plots.marks import foreseen_before, foreseen_from
from burnin.report.plots.of_replay import course_data, draw_course
from burnin.report.plots.plot_data import Panel
from burnin.report.plots.series import plot_data
from burnin.report.plots.static import static_plot
from tests.refusals import refused
from tests.replay.test_replay_lines import text_of
from tests.report import records
from tests.thermal.cards import DRY, LOOP_LIKE, OneBlock

WORDS = catalogue("en")
SVG = "{http://www.w3.org/2000/svg}"


def course(card: OneBlock, until_s: float = 120.0) -> Course:
    recording = open_recording("a card", io.StringIO(text_of(card, until_s)))
    return course_of(case_of_recording(recording))


def temperature(of: Course) -> Panel:
    [found] = [p for p in course_data(of, WORDS).panels if p.name == "temperature"]
    return found


def told_in(svg: str) -> str:
    root = ElementTree.fromstring(svg)
    return "\n".join("".join(element.itertext()) for element in root.iter(f"{SVG}text"))


def test_a_card_that_crosses_is_drawn_with_bands_limit_warning_and_stop() -> None:
    dry = course(DRY)
    data, panel = course_data(dry, WORDS), temperature(dry)
    [warning], [trip] = data.warnings, data.trips
    assert warning.over_s is not None
    assert warning.at_s < trip.at_s <= warning.over_s
    around = [band for band in panel.bands if not band.ahead]
    ahead = [band for band in panel.bands if band.ahead]
    assert [band.x_s[0] for band in ahead] == [trip.at_s, warning.at_s][::-1]
    assert [(limit.value, limit.label) for limit in panel.limits] == [(90.0, "GPU, limit")]
    assert panel.forecasts == ()
    assert around
    for band in panel.bands:
        assert list(band.x_s) == sorted(band.x_s)
        assert all(low <= high for low, high in zip(band.low, band.high, strict=True))
    text = told_in(static_plot(data))
    for words in ("foreseen 10 s before (95 %)", "warning", "stopped by a guard", "GPU, limit 90"):
        assert words in text
    assert f"{warning.at} s  Warning: {warning.text}"[:40] in " ".join(data.told)


def test_the_bands_ahead_lead_over_the_limit() -> None:
    dry = course(DRY)
    stop_s = dry.stops[0].time_s
    [ahead] = [b for b in temperature(dry).bands if b.ahead and b.x_s[0] == stop_s]
    assert ahead.high[0] < 90.0 < ahead.high[-1]


def test_a_sound_card_is_drawn_without_warning_or_stop() -> None:
    sound = course(LOOP_LIKE)
    data = course_data(sound, WORDS)
    assert (data.warnings, data.trips) == ((), ())
    assert "warning" not in told_in(static_plot(data))
    around = [band for band in temperature(sound).bands if not band.ahead]
    read = {s.elapsed_s: s.telemetry.gpu_temp_c for s in sound.samples}
    held = [
        low <= float(str(read[at_s])) <= high
        for band in around
        for at_s, low, high in zip(band.x_s, band.low, band.high, strict=True)
    ]
    assert len(held) > 30
    assert sum(held) > 0.8 * len(held)


def test_every_band_is_a_filled_trace_of_the_page_and_named_once() -> None:
    data = course_data(course(DRY), WORDS)
    bands = [b for panel in data.panels for b in panel.bands]
    drawn = figure(data)
    filled = [trace for trace in drawn["data"] if trace.get("fill") == "tonexty"]
    assert len(filled) == len(bands) > 2
    named = [note["text"] for note in drawn["layout"]["annotations"] if "foreseen" in note["text"]]
    assert sorted(named) == ["foreseen 10 s before (95 %)", "foreseen from there (95 %)"]


@pytest.mark.parametrize("name", ["out.svg", "out.html"])
def test_the_form_is_told_by_the_names_end(tmp_path: Path, name: str) -> None:
    target = tmp_path / name
    draw_course(course(DRY, 60.0), target, catalogue("de"))
    text = target.read_text(encoding="utf-8")
    assert "10 s vorher vorhergesagt (95 %)" in text or "10 s vorher" in text
    with refused(BadInput, match=r"\.html or \.svg"):
        draw_course(course(DRY, 10.0), tmp_path / "out.png", WORDS)


def foreseen(ahead_s: float, middle_c: float) -> Foreseen:
    return Foreseen(ahead_s, middle_c, middle_c - 2.0, middle_c + 2.0)


def test_bands_too_far_apart_are_not_joined() -> None:
    points = [(at_s, foreseen(10.0, 50.0)) for at_s in (1.0, 2.0, 3.0, 30.0, 31.0, 60.0)]
    bands = foreseen_before(points, 3.0, "band")
    assert [band.x_s for band in bands] == [(1.0, 2.0, 3.0), (30.0, 31.0)]


def test_a_band_ahead_goes_no_further_than_it_is_for() -> None:
    ahead = [foreseen(5.0, 80.0), foreseen(10.0, 110.0), foreseen(30.0, 160.0)]
    band = foreseen_from(100.0, 70.0, ahead, 90.0, "band")
    assert band is not None
    assert band.x_s == (100.0, 105.0, 110.0)
    assert band.low == (70.0, 78.0, 100.0)
    assert foreseen_from(100.0, 70.0, [], 90.0, "band") is None


def test_a_records_own_plot_has_bands_and_warnings_where_its_journal_tells_them(
    tmp_path: Path,
) -> None:
    draft = records.passed()
    for at_s in range(260, 400, 5):
        band = [{"ahead_s": 10.0, "value_c": 60.0, "low_c": 55.0, "high_c": 66.0}]
        what = {"guard": "forecast", "signal": "gpu_temp_c", "limit": 90.0, "crossing_in_s": 40.0}
        draft.event(float(at_s), "ForecastMade", "", **what, band=band)
    note = {"code": "guard_warning_less_likely", "stood_s": 5.0}
    draft.event(300.0, "WarningGiven", "6-thermal_ramp", warning=note)
    draft.event(305.0, "WarningOver", "6-thermal_ramp", why=note)
    data = plot_data(read_record(draft.write(tmp_path / "r")), WORDS)
    [warning] = data.warnings
    assert (warning.at_s, warning.over_s) == (300.0, 305.0)
    panel = data.panels[0]
    assert panel.forecasts == ()
    assert sum(len(band.x_s) for band in panel.bands) > 20
    assert panel.bands[0].x_s[0] == 270.0
