"""Slips put right: a value that was misread, a repair that was none, a cure time that was wrong.

Each is an event of its own with a reason: nothing is taken out of the log.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from datetime import datetime, timedelta

from burnin.core.clock import iso
from burnin.core.errors import BadInput
from burnin.core.meaning import Term
from burnin.core.quantities.quantity import parse_quantity
from burnin.ticket.before_power.shown_quantity import shown_quantity
from burnin.ticket.log.corrections import CURE, REPAIR_BACK, VALUE_BACK
from burnin.ticket.log.days_and_spans import moment_of, parse_span_s
from burnin.ticket.log.store import add
from burnin.ticket.log.whole_ticket import Measured, Repair, WholeTicket
from burnin.ticket.meanings import SlipTerm
from burnin.ticket.refusals import TicketRefusal

_REPAIR = re.compile(r"(?:repair|reparatur)[\s-]*(\d{0,4})", re.IGNORECASE)
_NOTHING = ("0", "none", "keine", "nothing", "nichts")


def take_back(
    ticket: WholeTicket, what: str, reason: str, *, by: str = "", now: datetime | None = None
) -> WholeTicket:
    """Take back a repair (``repair 2``) or a value (``supply_12v``, ``supply_12v 1.1``).

    Raises BadInput without a reason, and where it is not plain what is meant.
    """
    why = _reason(reason)
    named = _REPAIR.fullmatch(what.strip())
    if named:
        repair = _repair(ticket, int(named[1]) if named[1] else None, ticket.repairs)
        fields: dict[str, object] = {"repair": repair.number, "what": repair.what, "reason": why}
        return add(ticket, REPAIR_BACK, fields, by=by, now=now)
    slip = _value(ticket, what)
    fields = {
        "point": slip.point,
        "value": slip.value,
        "unit": slip.unit,
        "of_utc": slip.time_utc,
        "reason": why,
    }
    return add(ticket, VALUE_BACK, fields, by=by, now=now)


def correct_cure(
    ticket: WholeTicket,
    span: str,
    reason: str,
    number: int | None = None,
    *,
    by: str = "",
    now: datetime | None = None,
) -> WholeTicket:
    """Put right for how long a repair must cure, counted from when it was entered.

    Raises BadInput without a reason, for no span (``24 h``; ``none``: nothing cures), and where it
    is not plain which repair is meant.
    """
    why = _reason(reason)
    cures = tuple(r for r in ticket.repairs if r.cured_utc) or ticket.repairs
    repair = _repair(ticket, number, cures)
    cured_utc = ""
    if span.strip().lower() not in _NOTHING:
        cured_utc = iso(moment_of(repair.time_utc) + timedelta(seconds=parse_span_s(span)))
    fields = {"repair": repair.number, "what": repair.what, "cured_utc": cured_utc, "reason": why}
    return add(ticket, CURE, fields, by=by, now=now)


def _reason(text: str) -> str:
    if not text.strip():
        raise BadInput(TicketRefusal.WHY_TAKEN_BACK())
    return text.strip()


def _repair(ticket: WholeTicket, number: int | None, meant: Sequence[Repair]) -> Repair:
    """The repair of that number, or the only one that can be meant where none was given."""
    if not ticket.repairs:
        raise BadInput(TicketRefusal.NO_REPAIR(number=ticket.number))
    there = tuple(SlipTerm.REPAIR(repair=r.number, what=r.what) for r in ticket.repairs)
    if number is None and len(meant) == 1:
        return meant[0]
    found = [r for r in ticket.repairs if r.number == number]
    if not found:
        raise BadInput(TicketRefusal.WHICH_REPAIR(number=ticket.number, there=there))
    return found[0]


def _value(ticket: WholeTicket, what: str) -> Measured:
    """The value that is meant; of several that differ somebody must say which."""
    point, _, shown = what.strip().replace("=", " ", 1).partition(" ")
    there = [m for m in ticket.measured if m.point.lower() == point.lower()]
    if not there:
        points = tuple(dict.fromkeys(m.point for m in ticket.measured))
        raise BadInput(
            TicketRefusal.NOT_MEASURED_THERE(
                point=point, number=ticket.number, there=points or (SlipTerm.NO_VALUE(),)
            )
        )
    if shown.strip():
        wanted = parse_quantity(shown, there[0].unit).value
        found = [m for m in there if _alike(m.value, wanted)]
    else:
        found = there if len({m.value for m in there}) == 1 else []
    if not found:
        told = tuple(dict.fromkeys(_told(m) for m in there))
        raise BadInput(
            TicketRefusal.WHICH_VALUE(point=there[0].point, number=ticket.number, there=told)
        )
    return found[-1]


def _alike(value: float | None, other: float | None) -> bool:
    """Whether two values read the same as they are shown: to four places."""
    if value is None or other is None:
        return value is other
    return math.isclose(value, other, rel_tol=1e-3, abs_tol=1e-9)


def _told(value: Measured) -> Term:
    return SlipTerm.VALUE(point=value.point, value=shown_quantity(value.value, value.unit))
