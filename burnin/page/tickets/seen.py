"""What is known of a ticket at a moment: at once what its files say, soon what follows from it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from burnin.core.meaning import Meaning, Note, Value
from burnin.core.verdict import RunVerdict
from burnin.record.schema.run import RunFile
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.owed_work import Owes

Stamp = tuple[tuple[str, int, int], ...]
"""Name, time of the last change and size of each file that something was read from."""


@dataclass(frozen=True)
class RunSeen:
    """A run of a ticket. `name` is how a page asks for its record; `files` are sheets and plots.

    `judged`: its word and why as a sheet prints them, None while nobody has looked the record over.
    `goes_on`: some run writes it now.
    """

    name: str
    folder: Path
    run: RunFile
    stamp: Stamp
    goes_on: bool
    files: Mapping[str, Path]
    judged: tuple[RunVerdict, Meaning] | None = None


@dataclass(frozen=True)
class WorkedOut:
    """What follows from a ticket's log and records at a moment; `until`: then it may be otherwise.

    `fault`: why nothing follows, in the words of the error.
    """

    owes: tuple[Owes, ...] = ()
    next_step: Note | None = None
    until: datetime | None = None
    fault: Value = ""


@dataclass(frozen=True)
class TicketSeen:
    """A ticket; `name` is that of its folder, by which a page asks for it.

    `runs`: oldest first. `handed_over`: the files of its handovers. `worked_out`: None while it is
    being found out.
    """

    name: str
    ticket: WholeTicket
    stamp: Stamp
    runs: tuple[RunSeen, ...]
    handed_over: Mapping[str, Path]
    worked_out: WorkedOut | None = None
