"""Open tickets by urgency, with what each owes; and search over all of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from burnin.core.clock import moment_of
from burnin.core.meaning import Value
from burnin.core.verdict import RunVerdict
from burnin.ticket.log.days_and_spans import utc_now
from burnin.ticket.log.store import all_tickets
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.owed_work import Owes, owed_now
from burnin.ticket.proven.past_runs import past_runs


@dataclass(frozen=True)
class Line:
    """A ticket in the listing.

    `verdict` is that of its newest run, None for none; `late_days` is how long it is overdue, 0 if
    it is not.
    """

    ticket: WholeTicket
    owes: tuple[Owes, ...]
    verdict: RunVerdict | None
    late_days: int


def open_tickets(results: Path, now: datetime | None = None) -> tuple[list[Line], list[Value]]:
    """Open tickets, most urgent first, and what is wrong with each ticket that cannot be read.

    Overdue ones come first, then expedited ones, then by the promised day.
    """
    moment = now or utc_now()
    tickets, faults = all_tickets(results)
    lines = [line_of(ticket, moment) for ticket in tickets if not ticket.closed]
    return sorted(lines, key=lambda line: urgency(line.ticket, moment)), faults


def find_tickets(
    results: Path, words: str, now: datetime | None = None
) -> tuple[list[Line], list[Value]]:
    """Tickets, closed ones too, in which every one of `words` occurs, upper or lower case."""
    moment = now or utc_now()
    tickets, faults = all_tickets(results)
    wanted = words.casefold().split()
    found = [t for t in tickets if all(word in _all_text(t) for word in wanted)]
    found.sort(key=lambda ticket: urgency(ticket, moment))
    return [line_of(ticket, moment) for ticket in found], faults


def line_of(ticket: WholeTicket, now: datetime) -> Line:
    """One ticket with what it owes and the verdict of its newest run."""
    runs = past_runs(ticket.folder)
    verdict = runs[-1].verdict if runs else None
    return Line(ticket, owed_now(ticket, now=now), verdict, late_days(ticket, now))


def late_days(ticket: WholeTicket, now: datetime) -> int:
    """How long a ticket is overdue, 0 if it is not."""
    due = moment_of(ticket.intake.get("promised", ""))
    return 0 if due is None or ticket.closed else max(0, (now - due).days)


def urgency(ticket: WholeTicket, now: datetime) -> tuple[bool, int, bool, str, str, str]:
    """Sorts tickets: overdue ones, expedited ones, by the promised day, that of opening, number."""
    promised = ticket.intake.get("promised", "") or "9999"
    late = late_days(ticket, now)
    opened_utc, number = ticket.opened_utc, ticket.number
    return (bool(ticket.closed), -late, not ticket.expedited, promised, opened_utc, number)


def _all_text(ticket: WholeTicket) -> str:
    parts: Sequence[str] = (
        ticket.number,
        *ticket.intake.values(),
        *(f"{d.where} {d.what} {d.note}" for d in ticket.damage),
        *(f"{p.original} {p.note}" for p in ticket.photos),
        *(f"{r.what} {' '.join(r.contacts)}" for r in ticket.repairs),
        *(text for _, _, text in ticket.notes),
        ticket.no_fix,
    )
    return "\n".join(parts).casefold()
