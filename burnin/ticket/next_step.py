"""What to do next with a ticket."""

from __future__ import annotations

from datetime import datetime

from burnin.core.meaning import Note
from burnin.ticket.before_power.power_gate import against_power
from burnin.ticket.log.days_and_spans import utc_now
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.meanings import NextStep
from burnin.ticket.owed_work import owed_now


def next_step(ticket: WholeTicket, now: datetime | None = None) -> Note:
    """The one step that comes next, or that there is none."""
    number = ticket.number
    if ticket.closed:
        return NextStep.CLOSED(number=number)
    if ticket.no_fix:
        return NextStep.HAND_OVER(number=number)
    against = against_power(ticket, None)
    if against:
        return NextStep.NO_POWER(number=number, against=tuple(against.values()))
    moment = now or utc_now()
    owes = owed_now(ticket, now=moment)
    if any(o.before_power for o in owes):
        return NextStep.MEASURE(number=number)
    if not owes:
        return NextStep.HAND_OVER_NOTHING_OWED(number=number)
    now_owed = [o for o in owes if o.may_be_done(moment)]
    if now_owed and all(o.failed for o in now_owed):
        return NextStep.REPAIR(number=number)
    if now_owed:
        run = NextStep.RUN_SIMULATED if ticket.simulated else NextStep.RUN
        return run(number=number)
    return NextStep.WAIT(from_utc=min(o.from_utc for o in owes))
