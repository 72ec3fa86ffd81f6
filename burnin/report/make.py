"""Makes plots and sheet of a record; reads the record's folder and nothing else."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from burnin.core.errors import RecordError
from burnin.record.reader import read_record
from burnin.report.content import compose
from burnin.report.html import sheet_page
from burnin.report.pdf import sheet_pdf
from burnin.report.plots.interactive import interactive_plot
from burnin.report.plots.series import plot_data
from burnin.report.plots.static import static_plot


@dataclass(frozen=True)
class SheetPaths:
    """Where the products of a record lie."""

    html: Path
    pdf: Path
    plot_svg: Path
    plots_html: Path


def make_sheet(record_folder: Path, paper: str = "a4") -> SheetPaths:
    """Write plot.svg, plots.html, sheet.html and sheet.pdf into a record's folder.

    `paper` is a4 or letter. Each file appears whole or not at all. The same record gives the same
    bytes. Raises RecordError if the record cannot be read or its folder cannot be written.
    """
    record = read_record(record_folder)
    content, data = compose(record), plot_data(record)
    paths = SheetPaths(
        html=record_folder / "sheet.html",
        pdf=record_folder / "sheet.pdf",
        plot_svg=record_folder / "plot.svg",
        plots_html=record_folder / "plots.html",
    )
    drawing = static_plot(data)
    _write(paths.plot_svg, drawing.encode())
    _write(paths.plots_html, interactive_plot(data).encode())
    _write(paths.html, sheet_page(content, drawing).encode())
    _write(paths.pdf, sheet_pdf(content, drawing, paper))
    return paths


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
        raise RecordError(f"{path} cannot be written: {error.strerror or error}") from None
