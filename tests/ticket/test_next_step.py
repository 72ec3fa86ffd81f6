"""The one step that comes next, at each point of a ticket, in both languages."""

from __future__ import annotations

from pathlib import Path

import pytest

from burnin.cli.request import Wish, begin
from burnin.cli.terms import CliRefusal
from burnin.core.errors import BadInput
from burnin.core.meaning import Reason
from burnin.core.ticket_header import Ticket
from burnin.core.verdict import stage_title
from burnin.profile.loader import load_profile
from burnin.run.bench import Options
from burnin.stages.cold_starts.start_log import FILE
from burnin.ticket.before_power.values import Entry, take
from burnin.ticket.cold_starts_kept import starts_kept
from burnin.ticket.intake.repairs import add_repair
from burnin.ticket.intake.taking_in import give_up
from burnin.ticket.log.store import add, read_ticket
from burnin.ticket.meanings import NextStep
from burnin.ticket.next_step import next_step
from burnin.ticket.put_off import put_off_stage
from burnin.ticket.ticket_for_run import told_to_run
from tests.ticket.tickets import at, run_of, sagen, say, ticket


def test_a_run_comes_next_and_then_the_handover(tmp_path: Path) -> None:
    there = ticket(tmp_path, profile="desktop_air")
    assert next_step(there, at(1)) == NextStep.RUN_SIMULATED(number="4711")
    run_of(there, 1)
    assert next_step(there, at(2)) == NextStep.HAND_OVER_NOTHING_OWED(number="4711")
    closed = add(there, "closed", {})
    assert next_step(closed, at(3)) == NextStep.CLOSED(number="4711")


def test_the_unpowered_card_is_measured_before_it_is_run(tmp_path: Path) -> None:
    there = ticket(tmp_path, profile="repaired_desktop")
    assert next_step(there, at(1)) == NextStep.MEASURE(number="4711")
    own = load_profile("repaired_desktop").profile
    short = next_step(take(there, [Entry("supply_12v", "0.4 Ω")], own, now=at(2)), at(3))
    assert short.means(NextStep.NO_POWER)
    assert say(short).startswith("NO POWER on the card of ticket 4711: ")
    assert sagen(short).startswith("KEIN STROM auf die Karte von Auftrag 4711: ")


def test_what_must_wait_is_told_with_its_moment(tmp_path: Path) -> None:
    there = ticket(tmp_path, profile="desktop_air")
    there = put_off_stage(there, "thermal_ramp", "no loop attached", "24h", now=at(0))
    run_of(there, 1, s6="not measured")
    step = next_step(there, at(2))
    assert step == NextStep.WAIT(from_utc="2026-03-03T09:15:00.000Z")
    assert say(step) == "Nothing can be done before 3 March 2026, 09:15 UTC."
    assert sagen(step) == "Vor dem 3. März 2026, 09:15 UTC ist nichts zu tun."


def test_what_failed_is_repaired_before_it_is_run_again(tmp_path: Path) -> None:
    there = ticket(tmp_path, profile="desktop_air")
    run_of(there, 1, s3="fail")
    assert next_step(there, at(2)) == NextStep.REPAIR(number="4711")
    told = told_to_run(read_ticket(tmp_path, "4711"), None, at(2), simulated=True)
    assert told.nothing_owed
    assert told.failed_stages == (stage_title("link", ""),)
    wish = Wish(
        profile="", options=Options(simulated="healthy"), ticket=Ticket(number="4711"),
        left_out=frozenset(), monitors="", unattended=True, resume=None, results=tmp_path,
        show_all=False, as_json=False,
    )  # fmt: skip
    with pytest.raises(BadInput) as refused:
        begin(wish)
    told_why = refused.value.told
    assert isinstance(told_why, Reason)
    assert told_why.means(CliRefusal.FAILED_STANDS)
    add_repair(there, "seated anew", now=at(3))
    assert next_step(there, at(4)) == NextStep.RUN_SIMULATED(number="4711")


def test_a_card_without_a_fix_is_handed_over(tmp_path: Path) -> None:
    there = give_up(ticket(tmp_path), "the chip is cracked", now=at(1))
    assert next_step(there, at(2)) == NextStep.HAND_OVER(number="4711")


def test_cold_starts_are_kept_at_the_ticket_and_count_from_the_last_repair(tmp_path: Path) -> None:
    there = add_repair(ticket(tmp_path), "donor pads", now=at(3))
    kept = starts_kept(there.folder / "20260302T131500Z-a")
    assert kept.log == there.folder / "ticket" / FILE
    assert kept.since_utc == there.last_repair_utc
    assert kept.command == "burnin run --ticket 4711"
    alone = starts_kept(tmp_path / "untitled" / "run")
    assert alone.log == tmp_path / "untitled" / "run" / FILE
    assert alone.since_utc == ""
    assert alone.command == f"burnin run --resume {tmp_path / 'untitled' / 'run'}"
