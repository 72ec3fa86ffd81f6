"""What a ticket tells an explanation: contacts that are damaged, what a meter said, its runs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from burnin.connector.contact_map import contacts
from burnin.core.errors import BadInput
from burnin.core.reading import Verdict
from burnin.diagnosis.by_hand.measured import After
from burnin.diagnosis.evidence import Measured
from burnin.diagnosis.point_state import PointSaid, group_of
from burnin.diagnosis.power.of_record import TicketSays, ohm_by_contact
from burnin.profile.model import Profile
from burnin.ticket.before_power.judging import judged
from burnin.ticket.before_power.points import parse_point
from burnin.ticket.before_power.power_gate import profile_of
from burnin.ticket.intake.damage import places
from burnin.ticket.log.days_and_spans import moment_of
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.proven.past_runs import past_runs
from burnin.ticket.refusals import TicketRefusal


@dataclass(frozen=True)
class TicketTells:
    """Contacts named as damaged or repaired, what was measured at contacts, folders of records.

    `records`: of the runs since the card was last worked on, oldest first; of all where none was
    made since.
    """

    damaged: tuple[str, ...]
    after: After
    records: tuple[Path, ...]


def told_to_explain(ticket: WholeTicket, profile: Profile | None = None) -> TicketTells:
    """What a ticket tells; raises BadInput for one without a run of a card.

    `profile`: by which values before power are judged; None: the ticket's own.
    """
    there = contacts()
    seen = [place for damage in ticket.damage for place in _places(damage.where)]
    named = dict.fromkeys(name for name in (*seen, *ticket.repaired_contacts) if name in there)
    runs = [run for run in past_runs(ticket.folder) if run.is_of(ticket) and not run.of_software]
    if not runs:
        raise BadInput(TicketRefusal.NO_RUN(number=ticket.number))
    worked = ticket.last_repair_utc
    since = [run for run in runs if not worked or run.started > moment_of(worked)]
    folders = tuple(run.folder for run in since or runs)
    read_by = profile or profile_of(ticket)
    measured = tuple(_judged(ticket, read_by))
    after = After(
        tuple(m for m in measured if isinstance(m, Measured)),
        points=tuple(m for m in measured if isinstance(m, PointSaid)),
        supply=TicketSays(
            meter_ohm=ohm_by_contact(_values(ticket)),
            damaged=tuple(name for name in dict.fromkeys(seen) if name in there),
            repaired=tuple(name for name in ticket.repaired_contacts if name in there),
        ),
    )
    return TicketTells(tuple(named), after, folders)


def _places(where: str) -> tuple[str, ...]:
    try:
        return places(where)
    except BadInput:
        return ()  # a log that somebody made up


def _judged(ticket: WholeTicket, profile: Profile | None) -> Iterator[Measured | PointSaid]:
    """Points whose value before power was judged: contacts alike, open, or out of line; rails."""
    contacts_of: dict[str, Measured] = {}
    for reading in judged(profile, ticket):
        if reading.verdict not in (Verdict.PASS, Verdict.FAIL):
            continue
        try:
            point = parse_point(reading.name, profile)
        except BadInput:
            continue
        value = ticket.latest(point.name)
        is_open = value is not None and value.value is None
        passes = reading.verdict is Verdict.PASS
        if point.kind == "supply" and group_of(point.name):
            # An open rail is a fuse or a path to it, which is not what a short says.
            yield PointSaid(point.name, "alike" if passes or is_open else "low")
        if point.kind not in ("diode", "continuity") or len(point.contacts) != 1:
            continue
        (name,) = point.contacts
        if passes:
            contacts_of.setdefault(name, Measured(name, "alike"))
        else:
            contacts_of[name] = Measured(name, "open" if is_open else "off")
    yield from contacts_of.values()


def _values(ticket: WholeTicket) -> Iterator[tuple[str, float | None, str]]:
    """The newest value at each point."""
    for point in dict.fromkeys(m.point for m in ticket.measured):
        value = ticket.latest(point)
        if value is not None:
            yield point, value.value, value.unit
