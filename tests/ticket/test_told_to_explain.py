"""What a ticket tells an explanation, and `explain` of a ticket."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from burnin.cli.app import app
from burnin.core.errors import BadInput
from burnin.diagnosis.evidence import Measured
from burnin.diagnosis.point_state import PointSaid
from burnin.ticket.before_power.values import Entry, take
from burnin.ticket.log.store import add
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.told_to_explain import told_to_explain
from tests.refusals import refused
from tests.ticket.tickets import at, profile, ticket

ONLY = frozenset({"memory", "compute", "thermal_ramp", "display"})


@pytest.fixture
def results(tmp_path: Path) -> Path:
    """A ticket whose card ran once, with lane 9 open."""
    ticket(tmp_path)
    told = CliRunner().invoke(
        app,
        ["run", "--ticket", "4711", "-p", "desktop_air", "--simulated", "narrow_link",
         "--results", str(tmp_path), "--unattended",
         *(word for kind in sorted(ONLY) for word in ("--without", kind))],
    )  # fmt: skip
    assert told.exit_code in (1, 4), told.output
    return tmp_path


def whole(results: Path) -> WholeTicket:
    from burnin.ticket.log.store import read_ticket

    return read_ticket(results, "4711")


def test_damage_values_and_runs_count_together(results: Path) -> None:
    there = add(
        whole(results), "seen", {"where": "A60-A61", "what": "missing", "note": ""}, now=at(1)
    )
    there = take(there, [Entry("B14", "0.45 V"), Entry("B15", "OL")], profile(), now=at(2))
    told = told_to_explain(there, profile())
    assert told.damaged == ("A60", "A61")
    assert told.after.measured == (Measured("B14", "alike"), Measured("B15", "open"))
    assert len(told.records) == 1


def test_a_rail_and_a_supply_contact_are_told_with_their_ohms(results: Path) -> None:
    values = [Entry("supply_12v", "0.2 Ω"), Entry("B2-trace", "9 kΩ"), Entry("B1-trace", "0.1 Ω")]
    there = take(whole(results), values, profile(), now=at(2))
    told = told_to_explain(there, profile())
    assert told.after.points == (PointSaid("supply_12v", "low"),)
    ohm = told.after.supply.meter_ohm
    assert ohm is not None
    assert (ohm["B2"], ohm["B1"], ohm["supply_12v"]) == (9000.0, 0.1, 0.2)


def test_a_ticket_is_explained_by_its_number(results: Path) -> None:
    told = CliRunner().invoke(
        app, ["explain", "4711", "--results", str(results), "--after", "B50 open", "--json"]
    )
    assert told.exit_code == 0, told.output
    found = json.loads(told.stdout)
    assert found["conclusion"] == "explained"
    groups = found["ranked"][0]["groups"]
    assert all("B50" in name for group in groups[:2] for name in group["names"])


def test_a_ticket_without_a_run_says_what_to_type(tmp_path: Path) -> None:
    with refused(BadInput, match="--seen"):
        told_to_explain(ticket(tmp_path))


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], "explain what?"),
        (["4712"], "no ticket of that number"),
        (["4711", "--seen", "x8"], "one of them"),
        (["--seen", "x8", "--after", "DP-1 stays"], "says nothing of an output"),
    ],
)
def test_what_cannot_be_explained_is_refused_in_words(
    words: list[str], says: str, tmp_path: Path
) -> None:
    told = CliRunner().invoke(app, ["explain", *words, "--results", str(tmp_path)])
    assert told.exit_code == 2
    assert says in told.output
