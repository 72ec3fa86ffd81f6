"""A run hears from its ticket what the meter said of repaired contacts."""

from __future__ import annotations

from pathlib import Path

from burnin.core.meaning import Note
from burnin.core.parties import PartyNote
from burnin.ticket.before_power.pads_measured import pads_measured
from burnin.ticket.before_power.values import Entry, take
from burnin.ticket.log.store import add
from tests.ticket.tickets import at, profile, ticket


def told(tmp_path: Path, *values: tuple[str, str]) -> tuple[Note, ...]:
    there = add(
        ticket(tmp_path), "repaired", {"what": "donor pads", "contacts": ["B14", "B15"]}, now=at(1)
    )
    entries = [Entry(point, value) for point, value in values]
    return pads_measured(profile(), take(there, entries, profile(), now=at(2)))


def test_a_pad_that_is_joined_is_good_and_an_open_one_is_not(tmp_path: Path) -> None:
    notes = told(tmp_path, ("B14-trace", "0.2 Ω"), ("B15-trace", "OL"))
    assert notes == (
        PartyNote.PADS_GOOD(contacts=("B14",)),
        PartyNote.PADS_BAD(contacts=("B15",)),
    )


def test_a_bridge_to_its_neighbour_spoils_a_joined_pad(tmp_path: Path) -> None:
    notes = told(
        tmp_path, ("B14-trace", "0.2 Ω"), ("B15-trace", "0.2 Ω"), ("B14-B15", "0.4 Ω")
    )
    assert notes == (PartyNote.PADS_BAD(contacts=("B14", "B15")),)


def test_what_nobody_measured_since_the_repair_is_not_told(tmp_path: Path) -> None:
    assert told(tmp_path, ("B14-trace", "0.2 Ω"))[0]["contacts"] == ("B14",)
    again = add(
        ticket(tmp_path / "b"), "repaired", {"what": "pad", "contacts": ["B14"]}, now=at(1)
    )
    measured = take(again, [Entry("B14-trace", "0.2 Ω")], profile(), now=at(2))
    worked_on = add(measured, "repaired", {"what": "again", "contacts": ["B14"]}, now=at(3))
    assert pads_measured(profile(), worked_on) == ()
