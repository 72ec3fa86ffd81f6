"""What was done to a card, and how long it must be left to cure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from burnin.core.clock import iso
from burnin.core.errors import BadInput
from burnin.ticket.damage import contact_names
from burnin.ticket.dates import in_words, moment_of, parse_span_s, utc_now
from burnin.ticket.store import add
from burnin.ticket.whole_ticket import Repair, WholeTicket


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


def cure_text(repair: Repair, now: datetime) -> str:
    """``donor pads: cured for 20 min of 24 h``."""
    began, ends = moment_of(repair.time_utc), moment_of(repair.cured_utc)
    whole, done = (ends - began).total_seconds(), (now - began).total_seconds()
    return f"{repair.what}: cured for {in_words(max(0.0, done))} of {in_words(whole)}"
