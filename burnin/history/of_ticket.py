"""A ticket's log as rows of the store; what people wrote of a customer stays out."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from burnin.core.files.bounded import sha256_of
from burnin.history.columns import moment
from burnin.history.of_record import Cells
from burnin.history.pseudonym import Named, without
from burnin.history.tables import CONTACTS, HANDOVERS, REPAIRS, TICKET_EVENTS, TICKETS
from burnin.record.event_log import Log
from burnin.ticket.bound_card.binding import bound_facts
from burnin.ticket.log.whole_ticket import WholeTicket


def rows_of_ticket(
    ticket: WholeTicket, log: Log, file: str, file_sha256: str, named: Named, *, names_kept: bool
) -> Mapping[str, list[Cells]]:
    """All rows of a ticket; `names_kept`: the shop lets customers' words stand in the history."""
    customer = ticket.intake.get("customer", "")
    instead = named(customer)

    def hide(text: str) -> str:
        return text if names_kept else without(customer, instead, text)

    start: Cells = {"number": ticket.number, "file": file, "file_sha256": file_sha256}
    intake = {name: hide(text) for name, text in ticket.intake.items()}
    told = _card_key(ticket)
    of_ticket: Cells = {
        **start,
        "card_key": told or f"ticket:{ticket.number.strip()}",
        "card_told": bool(told),
        "customer": instead,
        **{name: intake.get(name, "") for name in ("card", "serial", "profile", "technician")},
        "fault": intake.get("fault", "") if names_kept else "",
        "opened_utc": moment(ticket.opened_utc),
        "closed_utc": moment(ticket.closed),
        "promised_utc": moment(ticket.intake.get("promised", "")),
        "expedited": ticket.expedited,
        "no_fix": bool(ticket.no_fix),
        "simulated": ticket.simulated,
    }
    repairs: list[Cells] = [
        {
            **start,
            "row": row,
            "what": hide(one.what),
            "by_whom": one.by,
            "done_utc": moment(one.time_utc),
            "cured_utc": moment(one.cured_utc),
        }
        for row, one in enumerate(ticket.repairs)
    ]
    return {
        TICKETS.name: [of_ticket],
        REPAIRS.name: repairs,
        CONTACTS.name: [{**start, "row": n, **c} for n, c in enumerate(_contacts(ticket, hide))],
        TICKET_EVENTS.name: [
            {
                **start,
                "row": row,
                "kind": event.kind,
                "at_utc": moment(event.time_utc),
                "by_whom": event.by,
            }
            for row, event in enumerate(log.events)
        ],
        HANDOVERS.name: [
            {
                **start,
                "row": row,
                "folder": made.folder,
                "verdict": made.verdict,
                "fingerprint": made.fingerprint,
                "at_utc": moment(made.time_utc),
            }
            for row, made in enumerate(ticket.handed_over)
        ],
    }


def log_sha256(path: Path) -> str:
    """SHA-256 of a log as it lies there; empty where it is gone."""
    return sha256_of(path)


def _card_key(ticket: WholeTicket) -> str:
    facts = bound_facts(ticket, simulated=ticket.simulated)
    typed = ticket.intake.get("serial", "")
    return str(facts.get("serial") or facts.get("uuid") or typed).strip()


def _contacts(ticket: WholeTicket, hide: Named) -> list[Cells]:
    seen: list[Cells] = [
        {"place": hide(damage.where), "damage": hide(damage.what)} for damage in ticket.damage
    ]
    repaired: list[Cells] = [
        {"place": place, "damage": "", "repair_row": row}
        for row, repair in enumerate(ticket.repairs)
        for place in repair.contacts
    ]
    return [*seen, *repaired]
