"""Every shipped scenario's record in German: each meaning has words, no sentence is in English."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from html import unescape
from pathlib import Path

import pytest

from burnin.core.meaning import Meaning
from burnin.core.plain import plain
from burnin.core.reading import NotMeasured
from burnin.record.reader import Record, read_record
from burnin.record.reasons import RecordReason
from burnin.report.formats import PAGE, ReportInput
from burnin.report.languages.catalogue import Catalogue, catalogue
from burnin.report.languages.word_files import GROUPS
from burnin.report.ticket.customer import customer_sheet
from burnin.report.ticket.customer_pages import customer_page
from burnin.report.ticket.internal import internal_sheet
from burnin.report.ticket.internal_pages import internal_page
from burnin.report.ticket.ticket_facts import ShopFacts, TicketFacts
from burnin.report.ticket.ticket_verdict import verdict_of
from burnin.sim.scenario.model import cause_scenario_names, scenario_names
from tests.long import few_short
from tests.report import records
from tests.report.test_languages import tables
from tests.run.shared_runs import SharedRuns

SHORT = ("healthy", "slow_link_under_load", "dead_output")
"""Some of the endings; all the others take minutes."""
SCENARIOS = few_short(dict.fromkeys((*scenario_names(), *cause_scenario_names())), SHORT)
PROFILES = {
    "healthy_compute": "passive_compute",
    "healthy_x8": "short_x8",
    "healthy_loop": "water_loop",
    "no_coolant": "water_loop",
    "cracked_rail_capacitors": "desktop_all_at_once",
    "healthy_bench_block": "water_no_loop",
    "opens_by_touch": "repaired_joint",
    "warm_joint": "repaired_joint",
}
"""Profile of a scenario's card; all others are desktop cards."""
TICKET = TicketFacts("4711", {"customer": "Ottilie Maro"}, "2026-03-01T23:30:00.000Z")
ENGLISH, GERMAN = catalogue("en"), catalogue("de")


def meanings(record: Record) -> Iterator[Meaning]:
    """Every meaning that a record holds, also those inside others."""
    for reading in record.all_readings:
        yield from _inside(plain(reading))
    yield from _inside(record.run.model_dump(mode="json"))
    for entry in record.journal:
        yield from _inside(entry.detail)
    lacking = {
        value.reason
        for sample in record.samples()
        for value in vars(sample.telemetry).values()
        if isinstance(value, NotMeasured)
    }
    for reason in lacking:
        yield from reason.parts()


def _inside(value: object) -> Iterator[Meaning]:
    if isinstance(value, Mapping):
        if isinstance(value.get("code"), str):
            yield Meaning.from_plain(value)
        for part in value.values():
            yield from _inside(part)
    elif isinstance(value, list | tuple):
        for part in value:
            yield from _inside(part)


def text_of(page: str) -> str:
    """A page's text alone."""
    body = re.sub(r"<(style|script|defs)\b.*?</\1>", " ", page, flags=re.S)
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]*>", " ", body))).replace("\u00a0", " ")


def english_sentences(said: set[Meaning]) -> set[str]:
    """What would be English on a German sheet: sentences of the record, headings and labels."""
    found = {
        ENGLISH.say(meaning)
        for meaning in said
        if ENGLISH.template(meaning.code) != GERMAN.template(meaning.code)
    }
    labels = {dict(meaning.data).get("counter") for meaning in said}
    found |= {ENGLISH.counter(label) for label in labels if isinstance(label, str)}
    for group in GROUPS:
        for key, text in ENGLISH.group(group).items():
            if text != GERMAN.group(group)[key]:
                found |= set(text) if isinstance(text, list) else {text}
    return {sentence for sentence in found if len(sentence.split()) > 2 and "{" not in sentence}


def sheet(record: Record, words: Catalogue) -> str:
    """Text of a run's sheet, the plot in it too."""
    return text_of(PAGE.make(ReportInput(record, words)).decode())


def ticket_sheets(record: Record, code: str) -> dict[str, str]:
    """Text of the sheets of a ticket in a language, by the sheet's name."""
    shop = ShopFacts()
    inside = internal_sheet(TICKET, record, shop, "0123456789abcdef", code)
    verdict, _ = verdict_of(TICKET, record)
    return {
        "customer": text_of(customer_page(customer_sheet(TICKET, record, shop, code), shop)),
        "internal": text_of(internal_page(inside, "", verdict)),
    }


@pytest.mark.parametrize("scenario", SCENARIOS)
def test_a_scenario_is_told_wholly_in_german(scenario: str, shared_runs: SharedRuns) -> None:
    record = shared_runs.run(scenario, PROFILES.get(scenario, "desktop_air")).record
    said = set(meanings(record))
    assert said
    known = tables("de")["says"]
    assert {meaning.code for meaning in said} - known.keys() == set()
    titles = {reading.name.partition(" ")[0] for reading in record.all_readings}
    assert titles - tables("de")["readings"].keys() == set()
    assert record.untyped == ()
    english = english_sentences(said)
    assert len(english) > 50
    german = {"sheet": sheet(record, GERMAN), **ticket_sheets(record, "de")}
    for name, text in german.items():
        assert [sentence for sentence in english if sentence in text] == [], name
    # The same search finds much on a sheet that is in English.
    english_sheet = sheet(record, ENGLISH)
    assert sum(sentence in english_sheet for sentence in english) > 20


OLD = ["passed", "aborted", "conditional", "card_lost", "failed"]


@pytest.mark.parametrize("name", OLD)
def test_an_old_record_keeps_its_words_and_the_shop_is_told_once(name: str, data: Path) -> None:
    record = read_record(data / "format_1_records" / name)
    assert record.format_read == 1
    assert record.untyped
    told = f"Dieses Protokoll hat Format 1: {len(record.untyped)} seiner Sätze"
    assert told not in sheet(record, GERMAN)
    sheets = ticket_sheets(record, "de")
    assert sheets["internal"].count(told) == 1
    assert told not in sheets["customer"]
    kept = [m["words"] for m in meanings(record) if m.means(RecordReason.WORDS_OF_FORMAT_1)]
    assert kept
    assert any(str(words) in sheets["internal"] for words in kept)


def test_a_new_record_has_nothing_to_tell_of_its_format(tmp_path: Path) -> None:
    record = read_record(records.passed().write(tmp_path / "r"))
    assert "Dieses Protokoll hat Format" not in ticket_sheets(record, "de")["internal"]
