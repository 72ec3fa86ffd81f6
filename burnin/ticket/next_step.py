"""A ticket on the terminal: what it owes, and what comes next, in as few lines as possible."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from burnin.core.reading import Reading, Verdict
from burnin.record.event_log import read_log
from burnin.report.ticket.internal import before_power_table
from burnin.ticket.before_power.power_gate import may_power
from burnin.ticket.dates import utc_now
from burnin.ticket.owed import BEFORE_POWER, owed_now
from burnin.ticket.sheet_facts import in_words_of
from burnin.ticket.store import LOG
from burnin.ticket.urgency import Line
from burnin.ticket.whole_ticket import WholeTicket

CAUTIONS = (
    "Unplug the card and wait: capacitors hold charge. Measure only what carries no power.",
    "Solder and UV: eye protection and ventilation. Heatsinks and boards are hot after work.",
    "Keep coolant away from mains, and parts and chemicals away from children.",
    "Follow local electrical codes; work inside the supply or on mains belongs to licensed people.",
)


def owed_lines(ticket: WholeTicket, now: datetime | None = None) -> Iterator[str]:
    """What is owed, one thing a line."""
    moment = now or utc_now()
    for owes in owed_now(ticket, now=moment):
        when = ""
        if owes.from_utc and not owes.may_be_done(moment):
            when = f" [from {owes.from_utc[:16].replace('T', ' ')} UTC]"
        place = f"{owes.stage}: " if owes.stage == BEFORE_POWER else ""
        yield f"  owed  {place}{owes.what}: {owes.reason}{when}"


def next_step(ticket: WholeTicket) -> str:
    """What to do next, in one line."""
    number = ticket.number
    if ticket.closed:
        return f"Ticket {number} is closed."
    if ticket.no_fix:
        return f"Next: burnin handover {number}"
    refusal = may_power(ticket)
    if refusal:
        return f"NO POWER {refusal.removeprefix('no power ')}"
    owes = owed_now(ticket)
    if any(o.stage == BEFORE_POWER for o in owes):
        return f"Next: burnin measure {number}"
    if not owes:
        return f"Nothing is owed. Next: burnin handover {number}"
    moment = utc_now()
    if any(o.may_be_done(moment) for o in owes):
        return f"Next: burnin run --ticket {number}"
    return f"Nothing can be done before {min(o.from_utc for o in owes)[:16]} UTC."


def whole_story(ticket: WholeTicket) -> Iterator[str]:
    """Every event, one a line."""
    for flaw in ticket.flaws:
        yield f"DAMAGED: {flaw}"
    for event in read_log(ticket.folder / LOG).events:
        when, who, what = in_words_of(event)
        yield f"{when[:16].replace('T', ' ')}  {who:<10}  {what}"


def listing(lines: list[Line]) -> Iterator[str]:
    """Tickets with what each owes."""
    if not lines:
        yield "No open ticket."
    for line in lines:
        ticket = line.ticket
        marks = [f"{line.late_days} d LATE"] if line.late_days else []
        marks += ["expedited"] if ticket.expedited else []
        marks += ["closed"] if ticket.closed else []
        marks += ["not repaired"] if ticket.no_fix else []
        marks += [line.verdict] if line.verdict else []
        promised = ticket.intake.get("promised", "") or "no day"
        who = ticket.intake.get("customer", "")[:28]
        card = ticket.intake.get("card", "")[:28]
        yield f"{ticket.number[:20]:<12} {promised:<10}  {who:<20} {card:<22} {', '.join(marks)}"
        yield from owed_lines(ticket)


def value_lines(readings: tuple[Reading, ...]) -> Iterator[str]:
    """Values before power, judged, in columns."""
    for row, reading in zip(before_power_table(readings).rows, readings, strict=True):
        name, value, limit, verdict, why, _ = row
        if reading.verdict is Verdict.NOT_MEASURED and not reading.required:
            continue
        yield f"  {name:<26} {value:<18} {limit:<14} {verdict:<13} {why}".rstrip()
