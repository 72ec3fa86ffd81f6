"""A reading that failed is on every sheet, whether or not the profile requires it."""

from __future__ import annotations

from pathlib import Path

import pytest

from burnin.record.reader import read_record
from burnin.report.languages.catalogue import catalogue
from burnin.report.make import make_sheet
from burnin.report.sheet.content import compose
from tests.report import records

WHY = "the hot spot lies 41 K over the GPU, at most 30"


def optional_failure(folder: Path) -> Path:
    """A run in which a reading failed that no profile requires; its stage says so."""
    draft = records.passed()
    draft.reading(
        "6-thermal_ramp", "hotspot_delta_max_k", 41.0, "K",
        uncertainty=0.6, upper_limit=30.0, verdict="fail", required="no", reason=WHY,
    )  # fmt: skip
    draft.stage_ends(5, "fail", WHY)
    draft.facts |= {"verdict": "fail", "ended": "failed", "reason": WHY}
    return draft.write(folder)


@pytest.mark.parametrize("language", ["en", "de"])
def test_it_is_the_first_line_of_the_readings(tmp_path: Path, language: str) -> None:
    words = catalogue(language)
    content = compose(read_record(optional_failure(tmp_path / "r")), words)
    first = content.readings[0]
    assert first.title == words.reading("hotspot_delta_max_k")
    assert first.rank == 0, "it must not be left out of a page that is short of room"
    assert WHY in first.reason


@pytest.mark.long
def test_it_is_on_the_page_that_is_printed(tmp_path: Path) -> None:
    folder = optional_failure(tmp_path / "r")
    make_sheet(folder)
    page = (folder / "sheet.html").read_text("utf-8")
    assert WHY in page
    assert catalogue("en").reading("hotspot_delta_max_k") in page
