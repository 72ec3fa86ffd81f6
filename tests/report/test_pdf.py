"""The paper sheet: one or two pages of A4, selectable text, no text taken for markup."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from pypdf import PdfReader

from burnin.record.reader import read_record
from burnin.report.languages.catalogue import catalogue
from burnin.report.plots.series import plot_data
from burnin.report.plots.static import static_plot
from burnin.report.sheet.content import compose
from burnin.report.sheet.pages_on_paper import sheet_pdf
from tests.long import few_short
from tests.report import records
from tests.report.records import Draft

WORDS = catalogue("en")
# ISO 216: A4 is 210 mm by 297 mm; PDF counts 72 units to 25.4 mm.
A4_UNITS = (210 / 25.4 * 72, 297 / 25.4 * 72)
MARKUP = '<script>alert("x")</script> #import "x.typ": * $x^2$ \\ *bold* _it_ @ref `raw` = h // c'


def made(folder: Path) -> bytes:
    record = read_record(folder)
    return sheet_pdf(compose(record, WORDS), static_plot(plot_data(record, WORDS)))


def text_of(pdf: bytes) -> str:
    pages = PdfReader(io.BytesIO(pdf)).pages
    text = " ".join(page.extract_text() for page in pages).replace("\u200b", "")
    return re.sub(r"\s+", " ", text)


def squeezed(text: str) -> str:
    return re.sub(r"\s+", "", text)


def fonts_of(pdf: bytes) -> set[str]:
    found = set()
    for page in PdfReader(io.BytesIO(pdf)).pages:
        fonts = page["/Resources"].get("/Font", {})  # type: ignore[attr-defined]
        found |= {str(fonts[key].get_object()["/BaseFont"]) for key in fonts}
    return found


def test_every_ending_gives_one_or_two_pages_of_a4(any_record: Path) -> None:
    pages = PdfReader(io.BytesIO(made(any_record))).pages
    assert 1 <= len(pages) <= 2
    for page in pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(
            A4_UNITS, abs=0.5
        )


def test_letter_paper_has_its_own_size_and_as_few_pages(any_record: Path) -> None:
    # ANSI/ASME Y14.1, size A: 8.5 in by 11 in.
    record = read_record(any_record)
    pdf = sheet_pdf(compose(record, WORDS), static_plot(plot_data(record, WORDS)), "letter")
    pages = PdfReader(io.BytesIO(pdf)).pages
    assert 1 <= len(pages) <= 2
    for page in pages:
        size = (float(page.mediabox.width), float(page.mediabox.height))
        assert size == pytest.approx((612.0, 792.0), abs=0.5)


@pytest.mark.parametrize(
    ("draft", "words"),
    [
        (records.passed, ["PASS", "every reading passed", "Corvane Strata 9", "Ottilie Maro"]),
        (records.failed, ["FAIL", "3 words read back wrong", "0xfffdffff", "bit 17 in 3"]),
        (records.aborted, ["STOPPED BY A GUARD", "84 °C", "90 °C", "no coolant moves"]),
        (records.conditional, ["CONDITIONAL", "the loop is at the customer", "nobody moved"]),
    ],
)
def test_verdict_and_reasons_can_be_selected_as_text(
    draft: Callable[[], Draft], words: list[str], tmp_path: Path
) -> None:
    text = text_of(made(draft().write(tmp_path / "r"))).replace("\u00a0", " ")
    for word in [*words, "SIMULATED MACHINE", "Local electrical rules", "unplug from the wall"]:
        assert word in text


def test_the_banner_is_on_every_page(any_record: Path) -> None:
    for page in PdfReader(io.BytesIO(made(any_record))).pages:
        assert "SIMULATED MACHINE" in page.extract_text()


def test_every_reading_that_was_not_measured_is_on_paper(tmp_path: Path) -> None:
    draft = records.conditional()
    for place in range(40):
        name = f"spare_sensor_{place}_c"
        row = {"verdict": "not measured", "reason": f"reason {place % 7}"}
        draft.reading("6-thermal_ramp", name, "", **row)
    pdf = made(draft.write(tmp_path / "r"))
    text = squeezed(text_of(pdf))
    assert len(PdfReader(io.BytesIO(pdf)).pages) <= 2
    for place in range(40):
        assert f"Sparesensor{place}(°C)" in text


def test_customer_text_is_never_markup(tmp_path: Path) -> None:
    draft = records.failed()
    draft.facts["ticket"] = dict.fromkeys(
        ("number", "customer", "card_label", "technician", "shop"), MARKUP
    )
    draft.facts["reason"] = MARKUP
    draft.facts["run_id"] = MARKUP[:60]
    draft.facts["card"]["name"] = MARKUP
    draft.facts["stages"][0]["own_title"] = MARKUP[:60]
    draft.stage_ends(0, "fail", MARKUP)
    draft.readings[0] |= {"verdict": "fail", "reason": MARKUP, "value": MARKUP, "allowed": "$y$"}
    draft.owes(MARKUP, MARKUP)
    text = squeezed(text_of(made(draft.write(tmp_path / "r"))))
    # Shop, four facts of the ticket, card, reason, stage, reading, owed twice.
    assert text.count(squeezed(MARKUP)) >= 10


ODD_NAMES = (
    "W" * 10_000,
    "long words " * 1_000,
    "עטרה מארו ושות׳ بريد الورشة",
    "👩‍🔧🛠️ Ωμέγα ≥ 3 ± 0,5 °C",
    "東京 graphics 修理",
    "a\u202eb\u0000c\u0007d\ud800e\ufffff",
    "",
)


@pytest.mark.parametrize("name", few_short(ODD_NAMES, ODD_NAMES[3:6:2]))
def test_odd_names_stay_on_the_page(name: str, tmp_path: Path) -> None:
    draft = records.conditional()
    draft.facts["ticket"] = dict.fromkeys(
        ("number", "customer", "card_label", "technician", "shop"), name
    )
    draft.facts["card"]["name"] = name
    pdf = made(draft.write(tmp_path / "r"))
    reader = PdfReader(io.BytesIO(pdf))
    assert len(reader.pages) <= 2
    assert "CONDITIONAL" in text_of(pdf)
    places: list[float] = []

    def visit(text: str, cm: list[float], tm: list[float], *_: object) -> None:
        if text.strip():
            places.append(cm[0] * tm[4] + cm[4])

    for page in reader.pages:
        page.extract_text(visitor_text=visit)
    assert max(places) < A4_UNITS[0] - 30
    assert min(places) > 30


def test_the_signs_of_measurement_have_glyphs(tmp_path: Path) -> None:
    draft = records.passed()
    draft.facts["ticket"]["card_label"] = "Ω µ ± ≥ ≤ ° × – — … → ² ³ é ß Ж"
    fonts = fonts_of(made(draft.write(tmp_path / "r")))
    # The last-resort font draws boxes in place of letters that no other font has.
    assert any("Libertinus" in font for font in fonts)
    assert not any("LastResort" in font for font in fonts)


def test_the_same_record_gives_the_same_bytes(tmp_path: Path) -> None:
    first = made(records.aborted().write(tmp_path / "a"))
    second = made(records.aborted().write(tmp_path / "b"))
    assert first == second
    dated = PdfReader(io.BytesIO(first)).metadata
    assert dated is not None
    assert dated.creation_date is not None
    assert dated.creation_date.isoformat()[:16] == records.utc(262.0)[:16]


def test_the_plot_is_on_paper(tmp_path: Path) -> None:
    folder = records.aborted().write(tmp_path / "r")
    record = read_record(folder)
    content = compose(record, WORDS)
    empty = '<svg xmlns="http://www.w3.org/2000/svg" width="10" height="10"></svg>'
    with_plot = sheet_pdf(content, static_plot(plot_data(record, WORDS)))
    assert len(with_plot) > len(sheet_pdf(content, empty)) + 5_000
