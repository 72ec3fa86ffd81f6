"""The customer's sheet: plain words in each language, nothing left out, no figure misread."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.record.reader import read_record
from burnin.report.languages import LANGUAGES, words_of
from burnin.report.local_words import LocalWords
from burnin.report.qr import code_svg, code_text
from burnin.report.terms import OUTCOMES, STAGE_MARKS
from burnin.report.ticket.customer import customer_sheet, verdict_of
from burnin.report.ticket.ticket_facts import OwedFact, RepairFact, SeenFact, ShopFacts, TicketFacts
from tests.report import records
from tests.report.records import Draft

TICKET = TicketFacts(
    "4711",
    {"customer": "Ottilie Maro", "card": "Corvane Strata 9"},
    "2026-03-01T23:30:00.000Z",
    seen=(SeenFact("B14", "missing"), SeenFact("bracket", "bent", "by the fall")),
    repairs=(RepairFact("donor pad", ("B14",), "2026-03-02T08:00:00.000Z"),),
    made_utc="2026-03-02T12:00:00.000Z",
)
ENDINGS: list[tuple[Callable[[], Draft], str]] = [
    (records.passed, "pass"),
    (records.failed, "fail"),
    (records.aborted, "aborted"),
    (records.conditional, "conditional"),
]


def shape(value: Any, path: str = "") -> set[str]:
    """Every key of a tree of words, lists by their length."""
    if isinstance(value, Mapping):
        return {k for name, item in value.items() for k in shape(item, f"{path}/{name}")}
    if isinstance(value, list):
        return {f"{path}[{len(value)}]"}
    return {path}


def test_every_language_has_every_word() -> None:
    first, *others = LANGUAGES
    for other in others:
        assert shape(words_of(other)) == shape(words_of(first)), other


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_verdict_and_mark_has_its_word(language: str) -> None:
    words = words_of(language)
    assert set(words["outcomes"]) == {*OUTCOMES, "untested", "no_fix"}
    assert set(words["marks"]) == set(STAGE_MARKS)
    assert set(words["meanings"]) <= set(words["stages"])
    assert set(words["showed"]) <= set(words["stages"])


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize(("draft", "verdict"), ENDINGS)
def test_each_ending_has_its_word_and_never_a_better_one(
    draft: Callable[[], Draft], verdict: str, language: str, tmp_path: Path
) -> None:
    record = read_record(draft().write(tmp_path / "r"))
    sheet = customer_sheet(TICKET, record, ShopFacts(), language)
    assert sheet.verdict == verdict
    assert sheet.outcome.word == words_of(language)["outcomes"][verdict]["word"]
    assert sheet.outcome.shape == OUTCOMES[verdict].shape
    assert sheet.banners == (words_of(language)["labels"]["simulated"],)
    assert bool(sheet.why) == (verdict in ("fail", "aborted"))


def test_a_record_that_was_changed_is_never_a_pass(tmp_path: Path) -> None:
    folder = records.failed().write(tmp_path / "r")
    path = folder / "run.json"
    path.write_text(path.read_text("utf-8").replace('"verdict": "fail"', '"verdict": "pass"'))
    assert verdict_of(TICKET, read_record(folder))[0] == "incomplete"


def test_what_is_owed_is_named_once_a_reason_in_the_customers_words(tmp_path: Path) -> None:
    ticket = TicketFacts(
        "1",
        {},
        "",
        owed=(
            OwedFact("4-memory", "Memory", "no time"),
            OwedFact("5-compute", "Compute", "no time"),
            OwedFact("before power", "supply_12v", "nobody measured it"),
            OwedFact("", "Long soak", "no loop", "2026-03-05T00:30:00.000Z"),
            OwedFact("3-link", "Link: failed, repair it", "8 of 16 lanes", failed=True),
        ),
    )
    record = read_record(records.passed().write(tmp_path / "r"))
    shop = ShopFacts(time_zone="Europe/Berlin")
    english = customer_sheet(ticket, record, shop, "en")
    assert [(f.label, f.value) for f in english.not_tested] == [
        ("Memory, Arithmetic", "no time"),
        ("Measured on the unpowered card", "nobody measured it"),
        ("Long soak", "no loop (from 5 March 2026, 01:30)"),
    ]
    german = customer_sheet(ticket, record, shop, "de")
    assert german.not_tested[0].label == "Speicher, Rechnen"
    assert german.not_tested[1].value == "niemand hat es gemessen"
    assert "ab 5. März 2026, 01:30" in german.not_tested[2].value


def test_days_are_those_of_the_shops_time_zone() -> None:
    moment = "2026-03-01T23:30:00.000Z"
    assert LocalWords("en").day(moment) == "1 March 2026"
    assert LocalWords("en", "Europe/Berlin").day(moment) == "2 March 2026"
    assert LocalWords("de", "Mars/Olympus").day(moment) == "1. März 2026"
    assert LocalWords("en").day("soon") == "soon"


@given(st.floats(min_value=-1e9, max_value=1e9))
def test_a_figure_in_german_is_the_same_number(value: float) -> None:
    text = f"{value:,.3f}"
    german = LocalWords("de").figure(text)
    assert float(german.replace(".", "").replace(",", ".")) == pytest.approx(float(f"{value:.3f}"))
    assert LocalWords("en").figure(text) == text


def test_only_what_was_measured_is_said_to_have_shown_something(tmp_path: Path) -> None:
    draft = records.passed()
    for row in draft.readings:
        if row["reading"] == "new_link_errors":
            row |= {"value": "", "verdict": "not measured", "reason": "no counter"}
    record = read_record(draft.write(tmp_path / "r"))
    sheet = customer_sheet(TICKET, record, ShopFacts(), "en")
    link = next(test for test in sheet.tests if test.title == "Connection to the computer")
    assert link.showed == "16 lanes at 16 GT/s"


def test_contacts_with_one_kind_of_damage_share_a_line() -> None:
    seen = tuple(SeenFact(f"B{n}", "missing") for n in (14, 15, 17))
    sheet = customer_sheet(TicketFacts("1", {}, "", seen=seen), None, ShopFacts(), "en")
    assert sheet.seen == ("contacts B14, B15, B17: pad missing",)
    assert sheet.verdict == "untested"
    assert sheet.marks == {"B14": "damaged", "B15": "damaged", "B17": "damaged"}


def test_advice_on_curing_ends_when_it_has_cured(tmp_path: Path) -> None:
    record = read_record(records.passed().write(tmp_path / "r"))
    for made, told in (("2026-03-02T12:00:00.000Z", True), ("2026-03-03T12:00:00.000Z", False)):
        ticket = TicketFacts(
            "1",
            {},
            "",
            repairs=(RepairFact("pad", cured_utc="2026-03-03T08:00:00.000Z"),),
            made_utc=made,
        )
        advice = customer_sheet(ticket, record, ShopFacts(), "en").advice
        assert any("3 March 2026, 08:00" in line for line in advice) == told


def test_the_code_carries_number_verdict_day_and_fingerprint() -> None:
    text = code_text("47\n11" * 40, "pass", "2026-03-02", "0123456789abcdef")
    lines = text.splitlines()
    assert lines[0] == "burnin"
    assert len(lines[1]) <= 40
    assert lines[2:] == ["pass", "2026-03-02", "0123456789abcdef"]
    assert code_svg(text).startswith("<svg")
