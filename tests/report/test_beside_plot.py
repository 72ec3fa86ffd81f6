"""The drawing of a comparison: which curve is which, and what lies apart, in words at its place."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from burnin.record.reader import Record, read_record
from burnin.report.languages.catalogue import catalogue
from burnin.report.plots.apart import furthest
from burnin.report.plots.band_of_records import Band, band_of
from burnin.report.plots.beside_records import beside_svg
from tests.report import records
from tests.report.test_plots import svg_text

Warmed = Callable[[float], Record]


@pytest.fixture
def warmed(tmp_path: Path) -> Warmed:
    """The same record with each temperature of the GPU higher by so much."""

    def make(by_c: float) -> Record:
        draft = records.passed()
        for row in draft.samples:
            row["gpu_temp_c"] = float(str(row["gpu_temp_c"])) + by_c
        return read_record(draft.write(tmp_path / f"{by_c:g}"))

    return make


@pytest.mark.parametrize(
    ("language", "told"),
    [
        ("en", ["up to 11 K above every known-good run", "as the known-good runs",
                "this record: ", "known-good runs", "Temperature: GPU (°C)"]),
        ("de", ["bis 11 K über jedem guten Lauf", "wie die guten Läufe",
                "dieses Protokoll: ", "gute Läufe", "Temperatur: GPU (°C)"]),
    ],
)  # fmt: skip
def test_what_lies_apart_is_told_above_its_panel(
    warmed: Warmed, language: str, told: list[str]
) -> None:
    good = [warmed(0.0), warmed(-1.0)]
    drawn = svg_text(beside_svg(warmed(11.0), [], good, catalogue(language))).replace("\u00a0", " ")
    for words in told:
        assert words in drawn


def test_beside_one_other_the_words_speak_of_that_one(warmed: Warmed) -> None:
    svg = beside_svg(warmed(0.0), [warmed(7.0)], [], catalogue("en"))
    drawn = svg_text(svg).replace("\u00a0", " ")
    assert "up to 7 K below the other" in drawn
    assert "known-good" not in drawn


def test_a_moment_apart_is_none_and_a_stretch_is(warmed: Warmed) -> None:
    record = warmed(0.0)
    band = band_of(record, [record], "gpu_temp_c", least=1)
    assert band is not None
    assert furthest(record, band, "gpu_temp_c") is None
    spike = list(band.highest)
    spike[20] -= 30.0
    once = Band(band.at_s, tuple(low - 30.0 for low in band.lowest), tuple(spike))
    assert furthest(record, once, "gpu_temp_c") is None
    found = furthest(warmed(11.0), band, "gpu_temp_c")
    assert found is not None
    assert found.by == pytest.approx(11.0)
