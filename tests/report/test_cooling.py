"""What the sheets say of the cooling: in the customer's words, and what was promised."""

from __future__ import annotations

from pathlib import Path

import pytest

from burnin.record.reader import read_record
from burnin.report.languages.catalogue import catalogue, language_names
from burnin.report.languages.units import unit_of
from burnin.report.sheet.content import compose
from burnin.report.ticket.customer import customer_sheet
from burnin.report.ticket.ticket_facts import ShopFacts, TicketFacts
from burnin.thermal.states import Cooling
from tests.report import records

RAMP = "6-thermal_ramp"
TICKET = TicketFacts("4711", {"card": "Corvane Strata 9"}, "2026-03-01T23:30:00.000Z")


def showed(tmp_path: Path, language: str, value: str, verdict: str) -> str:
    """What the heat stage's line says of a cooling state that was judged so."""
    draft = records.passed()
    draft.reading(RAMP, "cooling_state", value, verdict=verdict, reason="seen so")
    sheet = customer_sheet(
        TICKET, read_record(draft.write(tmp_path / f"{language}{verdict}")), ShopFacts(), language
    )
    title = catalogue(language).stage("thermal_ramp")
    return next(test.showed for test in sheet.tests if test.title == title)


@pytest.mark.parametrize("language", language_names())
def test_every_state_has_its_words(language: str) -> None:
    assert {str(state) for state in Cooling} <= set(catalogue(language).group("cooling"))


def test_the_customer_reads_the_state_in_his_language(tmp_path: Path) -> None:
    assert "cooling: sound, by air" in showed(tmp_path, "en", "healthy air", "pass")
    assert "Kühlung: in Ordnung, durch Luft" in showed(tmp_path, "de", "healthy air", "pass")
    assert "Kühler sitzt nicht" in showed(tmp_path, "de", "poor mount", "fail")


@pytest.mark.parametrize("language", language_names())
def test_what_is_only_probable_or_unknown_is_not_told_as_known(
    language: str, tmp_path: Path
) -> None:
    word = catalogue(language).group("cooling")["healthy loop"]
    assert word not in showed(tmp_path, language, "healthy loop", "unsure")
    assert word not in showed(tmp_path, language, "healthy loop", "not measured")


def test_a_missing_loop_is_not_told_as_a_fault(tmp_path: Path) -> None:
    said = showed(tmp_path, "en", "no coolant", "")
    assert "tested without its loop" in said
    assert "no coolant" not in said


def test_what_was_promised_before_the_load_is_on_the_sheet(tmp_path: Path) -> None:
    draft = records.passed()
    text = "at most 6.0 kJ above idle, 66 s at 105 W: mount judged; " + "long soak owed; " * 12
    draft.event(230.0, "Promised", RAMP, stage=RAMP, promise=[records.words(text.strip())])
    content = compose(read_record(draft.write(tmp_path / "r")), catalogue())
    fact = next(f for f in content.method if f.label == "Before check 6")
    assert fact.value == text.strip()


@pytest.mark.parametrize(
    ("name", "title", "unit"),
    [
        ("die_to_block_k_per_w", "Thermal resistance, die to block (the mount)", "K/W"),
        ("block_capacity_j_per_k", "Heat that the block takes up", "J/K"),
        ("rise_at_rated_k", "Rise over the idle card at rated power, at rest", "K"),
        ("power_held_w top", "Power held, top", "W"),
    ],
)
def test_readings_of_the_cooling_have_plain_titles(name: str, title: str, unit: str) -> None:
    assert catalogue().reading(name) == title
    assert unit_of(name.partition(" ")[0]) == unit
