"""Each card of a batch has ticket and profile before anything begins, or it is said why not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from burnin.card.capabilities import Card
from burnin.cli.batch.choosing import Named, Wanted, choose, named_cards
from burnin.cli.exit import told
from burnin.core.errors import BadInput, ProfileError
from burnin.report.languages.catalogue import catalogue
from burnin.run.bench import Options, cards_of_bench
from burnin.ticket.bound_card.facts import facts_of
from burnin.ticket.log.store import open_ticket
from burnin.ticket.runs_on_ticket import RunBegins, begun
from burnin.ticket.shop.shop_file import ProfileRule
from tests.refusals import refused

FIRST, SECOND = "0000:01:00.0", "0000:02:00.0"


@pytest.fixture(scope="module")
def cards() -> Sequence[Card]:
    return cards_of_bench(Options(simulated="three_cards"))


def wanted(results: Path, *named: str, profile: str = "", rules: Sequence[ProfileRule] = ()
           ) -> Wanted:  # fmt: skip
    return Wanted(named_cards(named), profile, rules, results, simulated=True)


def bound(results: Path, number: str, card: Card, profile: str = "") -> None:
    """A ticket whose first run has bound this card."""
    intake = {"customer": "Ottilie Maro", "profile": profile}
    ticket = open_ticket(results, number, intake, simulated=True)
    begun(ticket.folder, RunBegins(f"run-{number}", True, facts_of(card.identity(), None)))


def test_without_names_every_card_is_taken_in_bus_order(
    cards: Sequence[Card], tmp_path: Path
) -> None:
    chosen = choose(cards, wanted(tmp_path, profile="short_x8"))
    assert [one.identity.address for one in chosen] == [FIRST, SECOND, "0000:03:00.0"]
    assert {(one.profile, one.asks_profile, one.ticket) for one in chosen} == {
        ("short_x8", "short_x8", "")
    }
    assert [one.slot_number for one in chosen] == [1, 2, 3]


def test_the_tickets_profile_goes_before_the_shops_rule_and_that_before_the_option(
    cards: Sequence[Card], tmp_path: Path
) -> None:
    bound(tmp_path, "4711", cards[0], "link_soak")
    rules = [ProfileRule(card="CORVANE silt", profile="desktop_air")]
    with_rule = wanted(tmp_path, "01:00.0", "02:00.0", profile="short_x8", rules=rules)
    first, second = choose(cards, with_rule)
    assert (first.ticket, first.profile, first.asks_profile) == ("4711", "link_soak", "")
    assert (second.ticket, second.profile) == ("", "desktop_air")
    _, plain = choose(cards, replace(with_rule, rules=()))
    assert plain.profile == "short_x8"


@pytest.mark.parametrize(
    ("card", "fits"),
    [("silt corvane", True), ("f5a7:0004", True), ("F5A7:0004", True), ("silt 9", False),
     ("f5a7:0009", False), ("sil", False)],
)  # fmt: skip
def test_a_rule_fits_whole_words_of_the_name_or_its_numbers(card: str, fits: bool) -> None:
    rule = ProfileRule(card=card, profile="short_x8")
    assert rule.fits("Corvane Silt 4", 0xF5A7, 0x0004) is fits


def test_a_named_ticket_goes_before_one_that_is_found(
    cards: Sequence[Card], tmp_path: Path
) -> None:
    bound(tmp_path, "4711", cards[0])
    (chosen,) = choose(cards, wanted(tmp_path, "01:00.0=4712", profile="short_x8"))
    assert chosen.ticket == "4712"


def test_everything_that_is_missing_is_said_at_once_by_card(
    cards: Sequence[Card], tmp_path: Path
) -> None:
    for number in ("4711", "4712"):
        bound(tmp_path, number, cards[1])
    with pytest.raises(BadInput) as error:
        choose(cards, wanted(tmp_path, "01:00.0", "02:00.0"))
    first, second = told(error.value, catalogue("en")).splitlines()
    assert first.startswith(f"{FIRST}: no profile")
    assert "4711, 4712" in second
    with refused(BadInput, match=r"no card at 0000:09:00\.0; there are: 0000:01"):
        choose(cards, wanted(tmp_path, "09:00.0", profile="short_x8"))
    with pytest.raises(ProfileError, match="nonesuch"):
        choose(cards, wanted(tmp_path, profile="nonesuch"))
    with refused(BadInput, match="two cards"):
        choose(cards, wanted(tmp_path, "01:00.0=7", "03:00.0=7", profile="short_x8"))


def test_a_card_is_named_once_however_it_is_written() -> None:
    assert named_cards(["01:00.0", "0000:0A:00.0=4711"]) == (
        Named(FIRST), Named("0000:0a:00.0", "4711")
    )  # fmt: skip
    with refused(BadInput, match="twice"):
        named_cards(["01:00.0", "0000:01:00.0=4711"])


def test_no_other_profile_takes_the_place_of_the_tickets_own(
    cards: Sequence[Card], tmp_path: Path
) -> None:
    """Its file was taken away; what the shop names for such cards would prove something else."""
    open_ticket(tmp_path, "4711", {"customer": "Ottilie Maro", "profile": "./gone.toml"})
    rules = (ProfileRule(card="Corvane", profile="short_x8"),)
    asked = replace(wanted(tmp_path, "01:00.0=4711", profile="short_x8"), rules=rules)
    with pytest.raises(BadInput) as error:
        choose(cards, asked)
    said = told(error.value, catalogue("en"))
    assert "4711" in said
    assert "gone.toml" in said
