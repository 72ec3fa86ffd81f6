"""A ticket's folder as its files tell it at once: log, runs, sheets; nothing is judged here."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from burnin.core.errors import RecordError
from burnin.page.record_names import record_name
from burnin.page.tickets.seen import RunSeen, Stamp, TicketSeen
from burnin.record.run_file import read_run
from burnin.record.sums import RUN_FILE
from burnin.run.record_lock import is_held
from burnin.ticket.handover.handover import PREFIX
from burnin.ticket.log.store import ticket_listed
from burnin.ticket.log.ticket_from_log import LOG
from burnin.ticket.log.whole_ticket import WholeTicket

_SHEETS = (".pdf", ".html")
_MOST_FILES = 40


def stamp_of(folder: Path) -> Stamp:
    """What of a ticket's folder would have changed, whatever happened to the ticket.

    A run writes its run.json with each stage that begins or ends; what it writes between changes
    nothing that is shown here.
    """
    files = [folder / LOG]
    for one in _folders(folder):
        files.append(one if one.name.startswith(PREFIX) else one / RUN_FILE)
    return tuple(_stamped(files))


def ticket_seen(folder: Path, before: TicketSeen | None, stamp: Stamp) -> TicketSeen | None:
    """The ticket in a folder, None where there is none; raises RecordError where it is damaged.

    What was known of runs that are as they were `before` is kept.
    """
    ticket = ticket_listed(folder)
    if ticket is None:
        return None
    kept = {run.name: run for run in before.runs} if before is not None else {}
    runs = sorted(_runs(folder, kept), key=lambda run: (run.run.started_utc, run.run.run_id))
    return TicketSeen(folder.name, ticket, stamp, tuple(runs), _handed_over(ticket))


def _runs(folder: Path, kept: dict[str, RunSeen]) -> Iterator[RunSeen]:
    for one in _folders(folder):
        name = record_name(one)
        stamp = tuple(_stamped([one / RUN_FILE]))
        before = kept.get(name)
        if before is not None and before.stamp == stamp and not before.goes_on:
            yield before
            continue
        try:
            run = read_run(one)
        except RecordError:
            continue  # it is not counted by anybody else either
        goes_on = not run.ended_utc and bool(is_held(one))
        yield RunSeen(name, one, run, stamp, goes_on, _sheets(one))


def _handed_over(ticket: WholeTicket) -> dict[str, Path]:
    """The sheets of each handover that the log lists, the newest first."""
    found: dict[str, Path] = {}
    for handover in reversed(ticket.handed_over):
        if Path(handover.folder).name == handover.folder and handover.folder.startswith(PREFIX):
            sheets = _sheets(ticket.folder / handover.folder)
            found |= {f"{handover.folder}/{name}": path for name, path in sheets.items()}
    return found


def _sheets(folder: Path) -> dict[str, Path]:
    try:
        with os.scandir(folder) as entries:
            names = sorted(
                entry.name
                for entry in entries
                if entry.is_file(follow_symlinks=False)
                and entry.name.endswith(_SHEETS)
                and not entry.name.startswith(".")
            )
    except OSError:
        return {}
    return {name: folder / name for name in names[:_MOST_FILES]}


def _folders(folder: Path) -> list[Path]:
    try:
        with os.scandir(folder) as entries:
            found = [folder / e.name for e in entries if e.is_dir(follow_symlinks=False)]
    except OSError:
        return []
    return sorted(one for one in found if not one.name.startswith(".") and one.name != LOG.parts[0])


def _stamped(files: list[Path]) -> Iterator[tuple[str, int, int]]:
    for path in files:
        try:
            found = path.stat(follow_symlinks=False)
        except OSError:
            continue
        yield f"{path.parent.name}/{path.name}", found.st_mtime_ns, found.st_size
