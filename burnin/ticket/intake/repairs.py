"""What was done to a card, and how long it must be left to cure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from burnin.core.clock import iso
from burnin.core.errors import BadInput
from burnin.core.meaning import Reason, Term
from burnin.ticket.intake.damage import contact_names
from burnin.ticket.intake.meanings import RepairTerm
from burnin.ticket.intake.refusals import IntakeRefusal
from burnin.ticket.log.both_clocks import cured_at
from burnin.ticket.log.days_and_spans import moment_of, parse_span_s, span, utc_now
from burnin.ticket.log.store import add
from burnin.ticket.log.whole_ticket import Repair, WholeTicket
from burnin.ticket.meanings import TicketReason


def add_repair(
    ticket: WholeTicket,
    what: str,
    *,
    contacts: str = "",
    patches: Sequence[str] = (),
    cure: str = "",
    again: bool = False,
    by: str = "",
    now: datetime | None = None,
) -> WholeTicket:
    """Put a repair on the ticket; `cure` is a span such as ``24 h``. Raises BadInput.

    So it does where the same is on the ticket already, unless it was done `again`.
    """
    if not what.strip():
        raise BadInput(IntakeRefusal.WHAT_WAS_DONE())
    moment = now or utc_now()
    fields: dict[str, object] = {"what": what.strip()}
    touched = contact_names(contacts) if contacts.strip() else ()
    bared = tuple(_patch(name) for name in patches)
    before = None if again else same_as(ticket, what, (*touched, *bared))
    if before is not None:
        raise BadInput(
            IntakeRefusal.DONE_ALREADY(
                what=before.what, repair=before.number, time_utc=before.time_utc,
                number=ticket.number,
            )
        )  # fmt: skip
    if touched:
        fields["contacts"] = list(touched)
    if bared:
        fields["patches"] = list(bared)
    if cure.strip():
        fields["cured_utc"] = iso(moment + timedelta(seconds=parse_span_s(cure)))
    return add(ticket, "repaired", fields, by=by, now=now)


def same_as(ticket: WholeTicket, what: str, touched: Sequence[str]) -> Repair | None:
    """The newest repair of the ticket in the same words at the same places, None where none is."""
    told = what.casefold().split()
    for repair in reversed(ticket.repairs):
        places = {*repair.contacts, *repair.patches}
        if repair.what.casefold().split() == told and places == set(touched):
            return repair
    return None


def _patch(name: str) -> str:
    word = name.strip().lower()
    if not word or not all(c.isascii() and (c.isalnum() or c == "_") for c in word):
        raise BadInput(IntakeRefusal.NO_PATCH(text=name))
    return word[:30]


def uncured(ticket: WholeTicket, now: datetime) -> tuple[Repair, ...]:
    """Repairs whose cure time is not over, whatever the clock was set to meanwhile."""
    return tuple(r for r in ticket.repairs if r.cured_utc and cured_at(r) > now)


def curing(ticket: WholeTicket, open_ones: Sequence[Repair], now: datetime) -> Reason:
    """How far each has cured, and what is wrong with the clock."""
    told = [_cured_for(repair, now) for repair in open_ones]
    steps = {round(repair.set_on_s) for repair in open_ones} - {0}
    for step_s in sorted(steps):
        term = RepairTerm.CLOCK_SET_ON if step_s > 0 else RepairTerm.CLOCK_SET_BACK
        told.append(term(by=span(abs(step_s))))
    if ticket.clock_lags_s:
        told.append(RepairTerm.CLOCK_LAGS(by=span(ticket.clock_lags_s)))
    return TicketReason.CURING(repairs=tuple(told))


def _cured_for(repair: Repair, now: datetime) -> Term:
    """For how long a repair has cured, and how long it must."""
    began, ends = moment_of(repair.time_utc), moment_of(repair.cured_utc)
    whole_s = (ends - began).total_seconds()
    done_s = (now - began).total_seconds() - repair.set_on_s
    return RepairTerm.CURED_FOR(
        what=repair.what, done=span(max(0.0, done_s)), whole=span(whole_s)
    )
