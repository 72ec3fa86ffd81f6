"""Formats in which a record is reported: the seam `reports`, and ours.

A format is a name, the name of the file that it makes in the record's folder, and a function from
what is given to the file's bytes. A package registers it in the entry-point group
``burnin.reports``; ours are registered the same way.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

from burnin.core import seams
from burnin.core.errors import BadInput
from burnin.record.reader import Record
from burnin.report.languages.catalogue import Catalogue
from burnin.report.plots.interactive import interactive_plot
from burnin.report.plots.plot_data import PlotData
from burnin.report.plots.series import plot_data
from burnin.report.plots.static import static_plot
from burnin.report.sheet.content import SheetContent, compose
from burnin.report.sheet.page import sheet_page
from burnin.report.sheet.pages_on_paper import sheet_pdf


@dataclass(frozen=True)
class ReportInput:
    """What a format is made from: the record, the words of a language, a4 or letter.

    `content`, `plot` and `drawing` are made when first asked for, and once for all formats.
    """

    record: Record
    words: Catalogue
    paper: str = "a4"

    @cached_property
    def content(self) -> SheetContent:
        """All that a sheet says, as plain text."""
        return compose(self.record, self.words)

    @cached_property
    def plot(self) -> PlotData:
        """Curves, limits and stages."""
        return plot_data(self.record, self.words)

    @cached_property
    def drawing(self) -> str:
        """The plot for paper, as SVG text."""
        return static_plot(self.plot)


@dataclass(frozen=True)
class ReportFormat:
    """A format: `make` gives the bytes of `file`; the same input must give the same bytes.

    What it makes says so wherever the machine was simulated (`content.banners`). The docstring of
    `make` says what the file is for.
    """

    name: str
    file: str
    make: Callable[[ReportInput], bytes]


def report_formats() -> dict[str, ReportFormat]:
    """All formats by name; raises BadInput for one that is registered as something else."""
    found = {}
    for name, member in seams.members("reports").items():
        if not isinstance(member, ReportFormat):
            raise BadInput(
                f"report {name!r} is registered as {type(member).__name__}, not ReportFormat"
            )
        found[name] = member
    return found


def _page(given: ReportInput) -> bytes:
    """The sheet as one page for the screen, which needs no other file."""
    return sheet_page(given.content, given.drawing).encode()


def _paper(given: ReportInput) -> bytes:
    """The sheet as the customer gets it: one or two pages of paper, dated with the run's end."""
    return sheet_pdf(given.content, given.drawing, given.paper)


def _plot(given: ReportInput) -> bytes:
    """Temperature, power, clocks and link over time, for paper."""
    return given.drawing.encode()


def _plots(given: ReportInput) -> bytes:
    """The same and the fan, to look closer; one file that needs nothing else."""
    return interactive_plot(given.plot).encode()


PAGE = ReportFormat("html", "sheet.html", _page)
PAPER = ReportFormat("pdf", "sheet.pdf", _paper)
PLOT = ReportFormat("plot", "plot.svg", _plot)
PLOTS = ReportFormat("plots", "plots.html", _plots)
