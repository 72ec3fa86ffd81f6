"""Makes every report of a record; reads the record's folder and nothing else."""

from __future__ import annotations

import os
from pathlib import Path

from burnin.core.errors import BurninError, RecordError
from burnin.core.system import cannot_write
from burnin.record.reader import read_record
from burnin.report.formats import ReportFormat, ReportInput, report_formats
from burnin.report.languages.catalogue import catalogue
from burnin.report.refusals import ReportRefusal

_KEPT = (".csv", ".json", ".jsonl", ".sha256")
"""Endings of a record's own data, which no report may overwrite."""


def make_sheet(folder: Path, paper: str = "a4", language: str = "en") -> dict[str, Path]:
    """Write each registered format's file into a record's folder; gives each file by format.

    `paper` is a4 or letter. Each file appears whole or not at all, and one that cannot be made
    keeps no other from being made. The same record gives the same bytes. Raises RecordError if the
    record cannot be read, its folder cannot be written or a format fails; BadInput for a language
    that there is not.
    """
    given = ReportInput(read_record(folder), catalogue(language), paper)
    made: dict[str, Path] = {}
    first: BurninError | None = None
    for name, form in report_formats().items():
        try:
            path = _path(folder, form)
            _write(path, _bytes(form, given))
            made[name] = path
        except BurninError as error:
            first = first or error
    if first is not None:
        raise first
    return made


def _bytes(form: ReportFormat, given: ReportInput) -> bytes:
    try:
        return form.make(given)
    except (BurninError, ImportError):
        raise
    except Exception as error:
        # A format may be a shop's own: whatever it raises must not cost the other reports.
        raise RecordError(
            ReportRefusal.FORMAT_FAILED(
                report=form.name, error=type(error).__name__, words=str(error)
            )
        ) from error


def _path(folder: Path, form: ReportFormat) -> Path:
    if Path(form.file).name != form.file or form.file.endswith(_KEPT):
        raise RecordError(ReportRefusal.MUST_NOT_WRITE(report=form.name, file=form.file))
    return folder / form.file


def _write(path: Path, content: bytes) -> None:
    """Replace a file's content in one step, so that a reader never meets half of it."""
    passing = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        with passing.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        passing.replace(path)
    except OSError as error:
        passing.unlink(missing_ok=True)
        raise RecordError(cannot_write(path, error)) from None
