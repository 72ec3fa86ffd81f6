"""Firmware or a board that was replaced: what of the bound card holds no longer."""

from __future__ import annotations

from datetime import datetime

from burnin.core.errors import BadInput
from burnin.ticket.log.store import add
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.refusals import TicketRefusal

SETS_FREE: dict[str, tuple[str, ...]] = {
    "firmware": ("firmware_version",),
    "board": (
        *("subsystem_vendor_id", "subsystem_id", "serial", "uuid", "board_part_number"),
        *("firmware_version", "memory_bytes", "outputs"),
    ),
}
"""Which facts of the card are bound anew at the next run, by what was replaced; the chip stays."""


def enter_replaced(
    ticket: WholeTicket, what: str, note: str, *, by: str = "", now: datetime | None = None
) -> WholeTicket:
    """Put on the ticket that firmware or board was replaced; raises BadInput."""
    word = what.strip().lower()
    if word not in SETS_FREE:
        raise BadInput(TicketRefusal.WHAT_REPLACED(text=what, there=tuple(SETS_FREE)))
    if not note.strip():
        raise BadInput(TicketRefusal.WHICH_REPLACED(what=word))
    return add(ticket, "replaced", {"what": word, "note": note.strip()}, by=by, now=now)
