"""Slips that were taken back: the entry stays in the log, and counts no longer.

Each event names what it corrects by what does not change in a log that only grows: a value by its
point and moment, a repair by its number. What rested on the slip follows from the ticket as it is
read then, in the places that compute it for any ticket.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from burnin.record.event_log import LogEvent
from burnin.ticket.log.fields import number_of, text_of
from burnin.ticket.log.whole_ticket import Correction, Repair, WholeTicket

VALUE_BACK, REPAIR_BACK, CURE = "value_taken_back", "repair_taken_back", "cure_corrected"
"""Kinds of the events."""


def repairs_entered(ticket: WholeTicket) -> int:
    """How many repairs the log holds, with those that were taken back."""
    return len(ticket.repairs) + sum(c.took_repair_back for c in ticket.corrections)


def _value_taken_back(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    point, of_utc = text_of(event, "point"), text_of(event, "of_utc")
    found = [m for m in ticket.measured if m.point == point and m.time_utc == of_utc]
    if not found:
        return ticket  # somebody else took it back just before
    slip = found[-1]
    made = Correction(text_of(event, "reason"), event.time_utc, event.by, value=slip)
    left = tuple(m for m in ticket.measured if m is not slip)
    return replace(ticket, measured=left, corrections=(*ticket.corrections, made))


def _repair_taken_back(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    slip = _repair(ticket, event)
    if slip is None:
        return ticket
    made = Correction(text_of(event, "reason"), event.time_utc, event.by, repair=slip)
    number = slip.number
    runs = {n: replace(r, works_since=r.works_since - {number}) for n, r in ticket.runs.items()}
    left = tuple(r for r in ticket.repairs if r is not slip)
    return replace(ticket, repairs=left, runs=runs, corrections=(*ticket.corrections, made))


def _cure_corrected(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    slip = _repair(ticket, event)
    if slip is None:
        return ticket
    cured_utc = text_of(event, "cured_utc")
    made = Correction(
        text_of(event, "reason"), event.time_utc, event.by, repair=slip, cured_utc=cured_utc
    )
    mended = replace(slip, cured_utc=cured_utc)
    repairs = tuple(mended if r is slip else r for r in ticket.repairs)
    return replace(ticket, repairs=repairs, corrections=(*ticket.corrections, made))


def _repair(ticket: WholeTicket, event: LogEvent) -> Repair | None:
    number = number_of(event, "repair")
    return next((r for r in ticket.repairs if r.number == number), None)


CORRECTIONS: Mapping[str, Callable[[WholeTicket, LogEvent], WholeTicket]] = {
    VALUE_BACK: _value_taken_back,
    REPAIR_BACK: _repair_taken_back,
    CURE: _cure_corrected,
}
"""What each kind of event does to the ticket."""
