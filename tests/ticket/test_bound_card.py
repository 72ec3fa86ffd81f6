"""Which facts make a card the same card, and what a replacement sets free."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

from burnin.card.capabilities import Output
from burnin.cli.app import app
from burnin.core.errors import BadInput
from burnin.core.reading import NotMeasured
from burnin.ticket.bound_card.binding import bound_facts
from burnin.ticket.bound_card.facts import Facts, differences, facts_kept, facts_of
from burnin.ticket.bound_card.replaced import enter_replaced
from burnin.ticket.log.store import open_ticket, read_ticket
from burnin.ticket.log.ticket_from_log import LOG
from burnin.ticket.meanings import TicketReason
from burnin.ticket.runs_on_ticket import RunBegins, begun
from tests.ticket.test_owed import card
from tests.ticket.tickets import at, sagen, say, ticket

ABSENT = NotMeasured(TicketReason.NOT_CARRIED_OUT_YET())
CARD: Facts = {
    "vendor_id": 0xF5A7,
    "device_id": 9,
    "serial": "0001",
    "firmware_version": "94.02",
    "memory_bytes": 24 << 30,
    "outputs": ("DP", "DP", "HDMI-A"),
}


def outputs(*names: str) -> tuple[Output, ...]:
    return tuple(Output(name, ABSENT, ABSENT, (), ABSENT) for name in names)


def begins(run: str, facts: Facts, *, other_card: bool = False) -> RunBegins:
    return RunBegins(run, simulated=True, card=facts, other_card=other_card)


def test_outputs_are_told_apart_by_kind_not_by_their_number_on_the_host() -> None:
    first = facts_of(card(9), outputs("DP-1", "DP-2", "HDMI-A-1"))
    assert first["outputs"] == ("DP", "DP", "HDMI-A")
    assert differences(first, facts_of(card(9), outputs("HDMI-A-2", "DP-5", "DP-4"))) == ()
    (fewer,) = differences(first, facts_of(card(9), outputs("DP-1")))
    assert say(fewer[1]) == "outputs was 2 DP, 1 HDMI-A and is 1 DP"
    assert differences(first, facts_of(card(9), ABSENT)) == ()


@pytest.mark.parametrize(
    ("change", "differ"),
    [
        ({}, []),
        ({"memory_bytes": int((24 << 30) * 15 / 16)}, []),  # protection takes a sixteenth
        ({"memory_bytes": 20 << 30}, ["memory_bytes"]),
        ({"serial": "0002"}, ["serial"]),
        ({"firmware_version": "94.03"}, ["firmware_version"]),
        ({"device_id": 8, "serial": "0002"}, ["device_id", "serial"]),
        ({"uuid": "a"}, []),  # what the ticket does not hold says nothing
    ],
)
def test_each_fact_that_both_tell_must_be_the_same(
    change: dict[str, int | str], differ: list[str]
) -> None:
    assert [name for name, _ in differences(CARD, {**CARD, **change})] == differ


def test_a_number_that_only_one_card_has_must_be_told_again() -> None:
    silent = {name: value for name, value in CARD.items() if name != "serial"}
    ((name, term),) = differences(CARD, silent)
    assert name == "serial"
    assert "cannot be read now" in say(term)
    assert "nicht lesbar" in sagen(term)
    assert differences(CARD, silent, must_be_told=False) == ()
    assert differences({**CARD, "uuid": "a"}, {**silent, "uuid": "a"}) == ()


def test_a_card_is_bound_once_and_only_what_was_replaced_is_bound_anew(tmp_path: Path) -> None:
    there = ticket(tmp_path)
    begun(there.folder, begins("a", CARD), now=at(1))
    assert bound_facts(read_ticket(tmp_path, "4711"), simulated=True) == CARD
    assert bound_facts(read_ticket(tmp_path, "4711"), simulated=False) == {}
    other = {**CARD, "firmware_version": "95.00"}
    before = (there.folder / LOG).read_bytes()
    with pytest.raises(BadInput):
        begun(there.folder, begins("b", other), now=at(2))
    assert (there.folder / LOG).read_bytes() == before
    begun(there.folder, begins("b", other, other_card=True), now=at(2))
    now = read_ticket(tmp_path, "4711")
    assert now.runs["b"].other_card
    assert bound_facts(now, simulated=True) == CARD
    replaced = enter_replaced(now, "firmware", "the maker's newest", now=at(3))
    assert "firmware_version" not in bound_facts(replaced, simulated=True)
    assert replaced.last_repair_utc == replaced.card_events[-1].time_utc
    assert replaced.runs["a"].before_work
    begun(there.folder, begins("c", other), now=at(4))
    assert bound_facts(read_ticket(tmp_path, "4711"), simulated=True) == other


def test_a_new_board_keeps_the_chip(tmp_path: Path) -> None:
    there = ticket(tmp_path)
    begun(there.folder, begins("a", CARD), now=at(1))
    there = enter_replaced(read_ticket(tmp_path, "4711"), "board", "a donor's", now=at(2))
    assert set(bound_facts(there, simulated=True)) == {"vendor_id", "device_id"}


def test_facts_of_a_newer_tool_are_passed_over() -> None:
    assert facts_kept({"serial": "1", "colour": "red", "device_id": True}) == {"serial": "1"}
    assert facts_kept("none") == {}


def test_a_real_card_is_never_worked_for_a_ticket_of_the_simulated_machine(
    tmp_path: Path,
) -> None:
    """Its record would lie in the ticket for good, and count for nothing."""
    open_ticket(tmp_path, "815", {}, simulated=True)
    ran = CliRunner().invoke(
        app, ["run", "-p", "short_x8", "--ticket", "815", "--results", str(tmp_path)]
    )
    assert ran.exit_code == 2
    assert "--ticket 815 --simulated" in " ".join(ran.output.split())
    assert not list((tmp_path / "815").glob("*/run.json"))


def test_a_run_that_goes_on_keeps_the_reason_for_not_waiting(tmp_path: Path) -> None:
    open_ticket(tmp_path, "815", {}, simulated=True)
    folder = tmp_path / "815"
    first = RunBegins("a1", True, None, now_words="the glue only seals", now_stages=("2-link",))
    begun(folder, first)
    begun(folder, first)
    ticket = read_ticket(tmp_path, "815")
    assert ticket.reason_of_now("a1") == "the glue only seals"
    assert ticket.reason_of_now("b2") == ""
    assert len(ticket.nows) == 1
