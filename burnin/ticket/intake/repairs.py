"""What was done to a card, and how long it must be left to cure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from burnin.core.clock import iso
from burnin.core.errors import BadInput
from burnin.core.meaning import Term
from burnin.ticket.intake.damage import contact_names
from burnin.ticket.intake.meanings import RepairTerm
from burnin.ticket.log.days_and_spans import moment_of, parse_span_s, span, utc_now
from burnin.ticket.log.store import add
from burnin.ticket.log.whole_ticket import Repair, WholeTicket


def add_repair(
    ticket: WholeTicket,
    what: str,
    *,
    contacts: str = "",
    patches: Sequence[str] = (),
    cure: str = "",
    by: str = "",
    now: datetime | None = None,
) -> WholeTicket:
    """Put a repair on the ticket; `cure` is a span such as ``24 h``. Raises BadInput."""
    if not what.strip():
        raise BadInput("what was done? For example --did 'donor pads, epoxy'")
    moment = now or utc_now()
    fields: dict[str, object] = {"what": what.strip()}
    if contacts.strip():
        fields["contacts"] = list(contact_names(contacts))
    if patches:
        fields["patches"] = [_patch(name) for name in patches]
    if cure.strip():
        fields["cured_utc"] = iso(moment + timedelta(seconds=parse_span_s(cure)))
    return add(ticket, "repaired", fields, by=by, now=moment)


def _patch(name: str) -> str:
    word = name.strip().lower()
    if not word or not all(c.isascii() and (c.isalnum() or c == "_") for c in word):
        raise BadInput(f"bare copper {name[:30]!r}: name it with letters, digits and _, like back")
    return word[:30]


def uncured(ticket: WholeTicket, now: datetime) -> tuple[Repair, ...]:
    """Repairs whose cure time is not over."""
    return tuple(r for r in ticket.repairs if r.cured_utc and moment_of(r.cured_utc) > now)


def cured_for(repair: Repair, now: datetime) -> Term:
    """For how long a repair has cured, and how long it must."""
    began, ends = moment_of(repair.time_utc), moment_of(repair.cured_utc)
    whole, done = (ends - began).total_seconds(), (now - began).total_seconds()
    return RepairTerm.CURED_FOR(what=repair.what, done=span(max(0.0, done)), whole=span(whole))
