"""The customer's sheet: plain words in each language, nothing left out, no figure misread."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.core.meaning import Owed, Reason, Term
from burnin.core.reading import ReadingReason
from burnin.core.verdict import OwedWhat, StageVerdict, stage_title
from burnin.record.reader import read_record
from burnin.report.languages.catalogue import catalogue, language_names
from burnin.report.paper.qr import code_svg, code_text
from burnin.report.sheet.meanings import SimulatedTerm
from burnin.report.ticket.customer import customer_sheet
from burnin.report.ticket.ticket_facts import OwedFact, RepairFact, SeenFact, ShopFacts, TicketFacts
from burnin.report.ticket.ticket_verdict import SHAPES, TicketVerdict, verdict_of
from burnin.stages.cold_starts.meanings import ColdStartReason
from burnin.stages.display.meanings import DisplayReason
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


@pytest.mark.parametrize("language", language_names())
def test_every_verdict_and_mark_has_its_word(language: str) -> None:
    words = catalogue(language)
    assert set(words.group("customer_outcomes")) == set(TicketVerdict)
    assert set(words.group("customer_marks")) == set(StageVerdict)
    assert set(SHAPES) == set(TicketVerdict)


@pytest.mark.parametrize("language", language_names())
@pytest.mark.parametrize(("draft", "verdict"), ENDINGS)
def test_each_ending_has_its_word_and_never_a_better_one(
    draft: Callable[[], Draft], verdict: str, language: str, tmp_path: Path
) -> None:
    record = read_record(draft().write(tmp_path / "r"))
    sheet = customer_sheet(TICKET, record, ShopFacts(), language)
    assert sheet.verdict == verdict
    words = catalogue(language)
    of_card = words.group("customer_outcomes")[verdict][0]
    assert sheet.outcome.word == words.say(SimulatedTerm.WORD(word=of_card)) != of_card
    assert sheet.outcome.shape == SHAPES[TicketVerdict(verdict)]
    assert sheet.banners == (words.template("banner_simulated"),)
    assert bool(sheet.why) == (verdict in ("fail", "aborted"))


def test_a_record_that_was_changed_is_never_a_pass(tmp_path: Path) -> None:
    folder = records.failed().write(tmp_path / "r")
    path = folder / "run.json"
    path.write_text(path.read_text("utf-8").replace('"verdict": "fail"', '"verdict": "pass"'))
    assert verdict_of(TICKET, read_record(folder))[0] == "incomplete"


BEFORE_POWER = OwedWhat.STAGE(stage=Term("stage_before_power"))


def owed_stage(kind: str) -> Owed:
    return OwedWhat.STAGE(stage=stage_title(kind, ""))


def test_what_is_owed_is_named_once_a_reason_in_the_customers_words(tmp_path: Path) -> None:
    no_time = Reason("words_of_format_1", (("words", "no time"),))
    long_soak = Owed("words_of_format_1", (("words", "Long soak"),))
    ticket = TicketFacts(
        "1",
        {},
        "",
        owed=(
            OwedFact("4-memory", owed_stage("memory"), no_time),
            OwedFact("5-compute", owed_stage("compute"), no_time),
            OwedFact("", BEFORE_POWER, ReadingReason.NOT_READ()),
            OwedFact("", long_soak, DisplayReason.NO_MONITOR(), "2026-03-05T00:30:00.000Z"),
            OwedFact("3-link", owed_stage("link"), no_time, failed=True),
        ),
    )
    record = read_record(records.passed().write(tmp_path / "r"))
    shop = ShopFacts(time_zone="Europe/Berlin")
    english = customer_sheet(ticket, record, shop, "en")
    *owed, no_check = english.not_tested
    assert [(f.label, f.value) for f in owed] == [
        ("Memory, Arithmetic", "no time"),
        ("Measured on the unpowered card", "not read"),
        ("Long soak", "no monitor at hand for this output (from 5 March 2026, 01:30)"),
    ]
    # What no stage works is named on every sheet, also on that of a pass.
    assert "sound over the screen outputs" in no_check.label
    assert "ray tracing units" in no_check.label
    german = customer_sheet(ticket, record, shop, "de")
    assert german.not_tested[0].label == "Speicher, Rechnen"
    assert german.not_tested[1].value == "nicht gelesen"
    assert "ab 5. März 2026, 01:30" in german.not_tested[2].value


def test_days_are_those_of_the_shops_time_zone() -> None:
    moment = "2026-03-01T23:30:00.000Z"
    assert catalogue("en").day(moment) == "1 March 2026"
    assert catalogue("en").in_zone("Europe/Berlin").day(moment) == "2 March 2026"
    assert catalogue("de").in_zone("Mars/Olympus").day(moment) == "1. März 2026"
    assert catalogue("en").day("soon") == "soon"


@given(st.floats(min_value=-1e9, max_value=1e9))
def test_a_figure_in_german_is_the_same_number(value: float) -> None:
    text = f"{value:,.3f}"
    german = catalogue("de").number(text)
    assert "." not in german  # a point that parts thousands is read as the decimal sign
    plain = german.replace("\u202f", "").replace(",", ".")
    assert float(plain) == pytest.approx(float(f"{value:.3f}"))
    assert catalogue("en").number(text) == text.replace(",", "\u202f")


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


@pytest.mark.parametrize("language", ["en", "de"])
def test_what_is_owed_stands_as_large_as_what_passed(tmp_path: Path, language: str) -> None:
    soak = OwedFact("4-memory", owed_stage("memory"), DisplayReason.NO_MONITOR())
    again = OwedFact("5-compute", owed_stage("compute"), ReadingReason.NOT_READ())
    record = read_record(records.passed().write(tmp_path / "r"))
    one = customer_sheet(TicketFacts("1", {}, "", owed=(soak,)), record, ShopFacts(), language)
    two = customer_sheet(
        TicketFacts("1", {}, "", owed=(soak, again)), record, ShopFacts(), language
    )
    none = customer_sheet(TicketFacts("1", {}, ""), record, ShopFacts(), language)
    memory = {"en": "Memory", "de": "Speicher"}[language]
    assert memory in one.owed
    assert memory in two.owed
    assert "1" in two.owed
    assert none.owed == ""


@pytest.mark.parametrize(("language", "told"), [("en", "1 of 3"), ("de", "1 von 3")])
def test_what_comes_next_at_the_bench_is_no_business_of_the_customer_s(
    tmp_path: Path, language: str, told: str
) -> None:
    step = ColdStartReason.NEXT(
        number=2, of_count=3, wait_s=30.0, command="burnin run --ticket 4711"
    )
    reason = ColdStartReason.MORE_WANTED(seen_count=1, wanted_count=3, next=step)
    owed = OwedFact("cold_starts", OwedWhat.STAGE(stage="cold_starts"), reason)
    record = read_record(records.conditional().write(tmp_path / "r"))
    sheet = customer_sheet(replace(TICKET, owed=(owed,)), record, ShopFacts(), language)
    lines = [fact.value for fact in sheet.not_tested]
    assert any(told in line for line in lines)
    assert not any("burnin" in line or "30" in line for line in lines)
