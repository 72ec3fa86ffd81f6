"""Paper that is kept and read aloud: PDF/A-2a (ISO 19005-2, 6.6.4) with PDF/UA-1 (ISO 14289-1, 5).

No validator of these is in the registries: what files must carry is read with pypdf, and the
typesetter itself refuses what it can tell to be against them.
"""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from burnin.record.reader import read_record
from burnin.report.languages.catalogue import catalogue
from burnin.report.paper.typesetting import PAPERS
from burnin.report.plots.series import plot_data
from burnin.report.plots.static import static_plot
from burnin.report.sheet.content import compose
from burnin.report.sheet.pages_on_paper import sheet_pdf
from burnin.report.ticket.customer import customer_sheet
from burnin.report.ticket.customer_pages import customer_pdf
from burnin.report.ticket.internal import internal_sheet
from burnin.report.ticket.internal_pages import internal_pdf
from burnin.report.ticket.ticket_facts import ShopFacts
from burnin.report.ticket.ticket_verdict import verdict_of
from tests.report import records
from tests.report.test_german_sheets import TICKET

_PART, _CONFORMANCE = "pdfaid:part>2<", "pdfaid:conformance>A<"
_FOR_ALL = "pdfuaid:part>1<"


def papers(folder: Path, language: str) -> dict[str, bytes]:
    """All three papers of a repair."""
    record, words = read_record(folder), catalogue(language)
    plot, shop = static_plot(plot_data(record, words)), ShopFacts()
    inside = internal_sheet(TICKET, record, shop, "0123456789abcdef", language)
    verdict, _ = verdict_of(TICKET, record)
    return {
        "sheet": sheet_pdf(compose(record, words), plot),
        "customer": customer_pdf(customer_sheet(TICKET, record, shop, language), shop),
        "internal": internal_pdf(inside, plot, verdict),
    }


def catalogue_of(pdf: bytes) -> Any:
    """The catalogue of a file, as the reader has it."""
    return PdfReader(io.BytesIO(pdf)).trailer["/Root"].get_object()


@pytest.mark.parametrize("language", ["en", "de"])
def test_every_paper_is_tagged_and_says_what_it_keeps(tmp_path: Path, language: str) -> None:
    folder = records.failed().write(tmp_path / "r")
    for name, pdf in papers(folder, language).items():
        root = catalogue_of(pdf)
        told = root["/Metadata"].get_object().get_data().decode()
        assert root["/Lang"] == language, name
        assert root["/MarkInfo"].get_object()["/Marked"], name
        assert "/StructTreeRoot" in root, name
        assert root["/ViewerPreferences"].get_object()["/DisplayDocTitle"], name
        assert all(claim in told for claim in (_PART, _CONFORMANCE, _FOR_ALL)), (name, told)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", ["\ue000 of private use", "🛠 picture", "\u202eturned round", ""])
def test_a_text_that_cannot_be_kept_so_costs_no_paper(
    tmp_path: Path, paper: str, name: str
) -> None:
    draft = records.passed()
    draft.facts["card"]["name"] = name
    record, words = read_record(draft.write(tmp_path / "r")), catalogue("en")
    pdf = sheet_pdf(compose(record, words), static_plot(plot_data(record, words)), paper)
    assert 1 <= len(PdfReader(io.BytesIO(pdf)).pages) <= 2
