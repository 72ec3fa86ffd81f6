"""Reports and languages from outside: a package of a shop's own, found by its metadata."""

from __future__ import annotations

import hashlib
import subprocess
import sys
from pathlib import Path

import pytest

from burnin.core.errors import RecordError
from burnin.report import make
from burnin.report.formats import ReportFormat, ReportInput, report_formats
from burnin.report.make import make_sheet
from tests.refusals import refused
from tests.report import records

SHOP = '''
"""A shop's own report and language."""
from importlib.resources import files

from burnin.report.formats import ReportFormat, ReportInput
from burnin.report.languages.language import Language


def _label(given: ReportInput) -> bytes:
    """The label that is glued onto the box."""
    return f"{given.content.outcome.word} {given.record.run.run_id}".encode()


LABEL = ReportFormat("label", "label.txt", _label)
FRISIAN = Language("fy", "Frysk", files(__name__) / "words")
'''
WORDS = """
[outcomes]
pass = ["GOED", "De kaart die alles goed."]
"""
METADATA = "Metadata-Version: 2.1\nName: shop-words\nVersion: 1.0\n"
POINTS = """
[burnin.reports]
label = shop_words:LABEL
[burnin.languages]
fy = shop_words:FRISIAN
"""
MAKE = """
import sys
from pathlib import Path
from burnin.record.sums import write_checksums
from burnin.report.make import make_sheet
made = make_sheet(Path(sys.argv[1]), language="fy")
write_checksums(Path(sys.argv[1]), keep_data=True)
print(*(path.name for path in made.values()))
"""


@pytest.fixture
def installed(tmp_path: Path) -> Path:
    """A folder for the module path, as an installer leaves it there."""
    site = tmp_path / "site"
    (site / "shop_words" / "words").mkdir(parents=True)
    (site / "shop_words" / "__init__.py").write_text(SHOP)
    (site / "shop_words" / "words" / "shop.fy.toml").write_text(WORDS)
    (site / "shop_words-1.0.dist-info").mkdir()
    (site / "shop_words-1.0.dist-info" / "METADATA").write_text(METADATA)
    (site / "shop_words-1.0.dist-info" / "entry_points.txt").write_text(POINTS)
    return site


def test_a_report_and_a_language_from_outside_are_made_and_vouched_for(
    installed: Path, tmp_path: Path
) -> None:
    folder = records.passed().write(tmp_path / "r")
    done = subprocess.run(
        [sys.executable, "-c", MAKE, str(folder)],
        capture_output=True,
        text=True,
        check=False,
        env={"PYTHONPATH": str(installed), "PATH": ""},
    )
    assert done.returncode == 0, done.stderr
    assert set(done.stdout.split()) >= {"label.txt", "sheet.html", "sheet.pdf", "plots.html"}
    label = (folder / "label.txt").read_bytes()
    assert label.startswith(b"SIMULATED GOED ")
    listed = (folder / "checksums.sha256").read_text()
    assert f"{hashlib.sha256(label).hexdigest()}  label.txt" in listed
    page = (folder / "sheet.html").read_text("utf-8")
    assert ">SIMULATED GOED<" in page
    # What the shop has no word for is said in the original.
    assert "What was tested" in page


def test_every_format_says_what_it_makes() -> None:
    found = report_formats()
    assert {"html", "pdf", "plot", "plots"} <= set(found)
    files = [form.file for form in found.values()]
    assert len(set(files)) == len(files)
    for name, form in found.items():
        assert form.name == name
        assert (form.make.__doc__ or "").strip(), name


@pytest.fixture
def registered(monkeypatch: pytest.MonkeyPatch) -> dict[str, ReportFormat]:
    """The formats, to which a test may add."""
    formats = dict(report_formats())
    monkeypatch.setattr(make, "report_formats", lambda: formats)
    return formats


def test_a_format_that_raises_costs_no_other_report(
    registered: dict[str, ReportFormat], tmp_path: Path
) -> None:
    def broken(given: ReportInput) -> bytes:
        raise ZeroDivisionError("of the shop's own")

    folder = records.passed().write(tmp_path / "r")
    registered["a_broken"] = ReportFormat("a_broken", "broken.txt", broken)
    with refused(RecordError, match=r"a_broken.*ZeroDivisionError"):
        make_sheet(folder)
    assert (folder / "sheet.pdf").exists()
    assert not (folder / "broken.txt").exists()


@pytest.mark.parametrize("file", ["run.json", "readings.csv", "../outside.txt", "checksums.sha256"])
def test_no_format_writes_over_the_record_or_outside_it(
    registered: dict[str, ReportFormat], tmp_path: Path, file: str
) -> None:
    folder = records.passed().write(tmp_path / "r")
    before = (folder / "run.json").read_bytes()
    registered["own"] = ReportFormat("own", file, lambda _: b"mine")
    with refused(RecordError, match="must not write"):
        make_sheet(folder)
    assert (folder / "run.json").read_bytes() == before
    assert not (tmp_path / "outside.txt").exists()
