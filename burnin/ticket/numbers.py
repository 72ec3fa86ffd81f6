"""Numbers of tickets: each has a folder of its own, and nothing else ever lies in it."""

from __future__ import annotations

import re
from pathlib import Path

from burnin.core.errors import BadInput
from burnin.core.meaning import Term
from burnin.record.batches.batch import BATCHES, NIGHTS
from burnin.ticket.log.store import ticket_at, ticket_folder
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.proven.past_runs import past_runs
from burnin.ticket.refusals import StrangerTerm, TicketRefusal

RESERVED = ("bench", BATCHES, NIGHTS)
"""Folders of results/ that hold something else than a ticket, in lower case."""
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
"""Runs without a ticket lie in a folder of their day."""


def ticket_of_number(results: Path, number: str) -> WholeTicket | None:
    """The ticket of a number, None where none was opened and none collides with it.

    Raises BadInput, with what to type instead, for a number whose folder is another's: that of a
    ticket or of records with another number, that of a day, or one that holds something else.
    Raises RecordError for a damaged ticket.
    """
    folder = ticket_folder(results, number)
    there = ticket_at(folder)
    if there is not None:
        if there.number.strip() == number.strip():
            return there
        raise BadInput(
            TicketRefusal.OTHERS_FOLDER(
                number=number, folder=str(folder), there=there.number, free=_free(folder)
            )
        )
    if _DAY.fullmatch(folder.name) or folder.name.lower() in RESERVED:
        is_day = _DAY.fullmatch(folder.name) is not None
        kept = TicketRefusal.KEPT_FOR_DAYS if is_day else TicketRefusal.KEPT_FOR_ELSE
        raise BadInput(
            kept(number=number, folder=str(folder), free=_free(folder))
        )
    strangers = _strangers(folder, number)
    if strangers:
        raise BadInput(
            TicketRefusal.STRANGERS(
                number=number, folder=str(folder), strangers=strangers, free=_free(folder)
            )
        )
    return None


def runs_of_number(results: Path, number: str) -> list[dict[str, object]]:
    """Runs that a number left before its ticket was opened, as fields of their events."""
    return [
        {"run": run.run_id, **({"simulated": True} if run.simulated else {})}
        for run in past_runs(ticket_folder(results, number))
    ]


def _strangers(folder: Path, number: str) -> tuple[Term, ...]:
    """What lies in a folder and is no run of this number."""
    if folder.exists() and not folder.is_dir():
        return (StrangerTerm.FILE(),)
    numbers = {run.run.ticket.number for run in past_runs(folder)}
    named = sorted(numbers - {number})
    return tuple(
        StrangerTerm.RECORD_OF(number=name) if name else StrangerTerm.RECORD_ALONE()
        for name in named
    )


def _free(folder: Path) -> str:
    """A number like this one whose folder is free."""
    name, count = f"T-{folder.name}"[:50], 2
    free = name
    while (folder.parent / free).exists():
        free, count = f"{name}-{count}", count + 1
    return free
