"""Where the cold starts of a run are kept: at its ticket, so that they outlive a single record."""

from __future__ import annotations

from pathlib import Path

from burnin.stages.boot import StartsKept
from burnin.stages.cold_starts.start_log import FILE
from burnin.ticket.log.store import ticket_at
from burnin.ticket.log.ticket_from_log import LOG


def starts_of_ticket(ticket_folder: Path) -> Path:
    """The log of a ticket's cold starts; it need not exist."""
    return ticket_folder / LOG.parent / FILE


def starts_kept(record_folder: Path) -> StartsKept:
    """Where a run's cold starts are kept: at the ticket in whose folder its record lies.

    Without a ticket they lie in the record. Starts before the card was last worked on say nothing
    of it now. Raises RecordError for a damaged ticket.
    """
    ticket = ticket_at(record_folder.parent)
    if ticket is None:
        return StartsKept(record_folder / FILE, "", f"burnin run --resume {record_folder}")
    command = f"burnin run --ticket {ticket.number}"
    return StartsKept(starts_of_ticket(ticket.folder), ticket.last_repair_utc, command)
