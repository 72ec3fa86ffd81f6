"""All products of a record, written whole or not at all."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from burnin.core.errors import RecordError
from burnin.report.make import make_sheet
from tests.refusals import refused
from tests.report import records


def test_every_ending_gives_all_four_files(any_record: Path) -> None:
    before = {path.name for path in any_record.iterdir()}
    paths = make_sheet(any_record)
    made = {path.name for path in any_record.iterdir()} - before
    assert made == {"plot.svg", "plots.html", "sheet.html", "sheet.pdf"}
    assert paths["pdf"].read_bytes().startswith(b"%PDF-")
    for path in (paths["plot"], paths["plots"], paths["html"]):
        assert "SIMULATED MACHINE" in path.read_text("utf-8")


def test_making_anew_gives_the_same_bytes(tmp_path: Path) -> None:
    folder = records.failed().write(tmp_path / "r")
    names = ("plot.svg", "plots.html", "sheet.html", "sheet.pdf")
    make_sheet(folder)
    first = [(folder / name).read_bytes() for name in names]
    make_sheet(folder)
    assert [(folder / name).read_bytes() for name in names] == first


def test_a_record_of_nothing_but_its_facts_gives_a_sheet(tmp_path: Path) -> None:
    folder = tmp_path / "r"
    folder.mkdir()
    (folder / "run.json").write_text('{"format": 1}')
    paths = make_sheet(folder)
    assert "INCOMPLETE" in paths["html"].read_text("utf-8")


def test_a_place_that_cannot_be_written_is_told_and_nothing_half_is_left(tmp_path: Path) -> None:
    folder = records.passed().write(tmp_path / "r")
    (folder / "sheet.pdf").mkdir()
    with refused(RecordError, match=r"sheet\.pdf: cannot be written"):
        make_sheet(folder)
    assert not [path for path in folder.iterdir() if path.name.endswith(".part")]


def test_plotting_libraries_are_imported_late() -> None:
    code = "import sys, burnin.report.make; print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    imported = set(done.stdout.split())
    assert "burnin.report.sheet.pages_on_paper" in imported
    assert imported & {"matplotlib", "plotly", "pandas", "numpy", "typst", "jinja2"} == set()
