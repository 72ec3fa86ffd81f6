"""Tickets as plain files: results/<number>/ticket/events.jsonl, and how they are found."""

from __future__ import annotations

import getpass
import os
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from pathlib import Path

from burnin.core.clock import iso
from burnin.core.errors import BadInput, RecordError
from burnin.core.meaning import Reason, Value
from burnin.core.ticket_header import folder_name
from burnin.record.event_log import Log, LogEvent, append, read_log
from burnin.ticket.log.both_clocks import by_both_clocks, present_stamp
from burnin.ticket.log.days_and_spans import utc_now
from burnin.ticket.log.refusals import LogRefusal
from burnin.ticket.log.ticket_from_log import LOG, fold
from burnin.ticket.log.whole_ticket import INTAKE_FIELDS, WholeTicket
from burnin.ticket.shop.log_head import FILE as HEAD_FILE
from burnin.ticket.shop.log_head import can_vouch, check_head, vouching

MOST_TEXT = 20_000
"""Longest text of one field, in characters; what a person types is shorter by far."""


def ticket_folder(results: Path, number: str) -> Path:
    """Where a ticket lies; always directly inside `results`. Raises BadInput for no name at all."""
    if ".." in number.replace("\\", "/").split("/"):
        raise BadInput(LogRefusal.FOLDER_ABOVE(number=number))
    try:
        return results / folder_name(number)
    except ValueError as error:
        raise BadInput(LogRefusal.NUMBER_EMPTY(number=number)) from error


def read_ticket(results: Path, number: str) -> WholeTicket:
    """A ticket by its number; raises BadInput where there is none, RecordError where damaged."""
    folder = ticket_folder(results, number)
    found = ticket_at(folder)
    if found is None:
        raise BadInput(LogRefusal.NO_TICKET(number=number, results=str(results)))
    if found.number.strip() != number.strip():
        raise BadInput(
            LogRefusal.OTHER_SPELLING(number=number, folder=str(folder), found=found.number)
        )
    return found


def ticket_at(folder: Path) -> WholeTicket | None:
    """The ticket in a folder of results/, None where there is none."""
    path = folder / LOG
    if not path.exists():
        return None
    log = read_log(path)
    found = fold(folder, log)
    return None if found is None else by_both_clocks(found, log, present_stamp())


def ticket_listed(folder: Path) -> WholeTicket | None:
    """The ticket in a folder as a list of tickets has it; None where none was opened there.

    Raises RecordError where it is damaged, where its log has lost its beginning, and where it lies
    in another folder than its own: no command finds it there by its number.
    """
    found, log = ticket_at(folder), folder / LOG
    if found is None:
        begun = log.is_file() and (log.stat().st_size or (log.parent / HEAD_FILE).exists())
        if begun or log.is_symlink():
            raise RecordError(LogRefusal.HOLDS_NO_TICKET(file=str(log)))
        return None
    own = folder_name(found.number)
    if folder.name != own:
        where = str(folder.parent / own)
        raise RecordError(
            LogRefusal.OWN_FOLDER(folder=str(folder), number=found.number, own=where)
        )
    return found


def all_tickets(results: Path) -> tuple[list[WholeTicket], list[Value]]:
    """Every ticket that can be read, and what is wrong with each that cannot."""
    found: list[WholeTicket] = []
    faults: list[Value] = []
    for path in logs_below(results):
        try:
            ticket = ticket_listed(path.parent.parent)
        except RecordError as error:
            faults.append(error.told)
            continue
        if ticket is not None:
            found.append(ticket)
    return found, faults


def logs_below(results: Path) -> list[Path]:
    """The log of each ticket's folder, one that is a link to nowhere too."""
    there = (folder / LOG.name for folder in results.glob(f"*/{LOG.parts[0]}"))
    return sorted(path for path in there if os.path.lexists(path))


def _alike(folder: Path) -> WholeTicket | None:
    """The ticket whose folder's name differs in upper and lower case alone: a stick has one."""
    others = (log.parent.parent for log in logs_below(folder.parent))
    wanted = folder.name.casefold()
    alike = (one for one in others if one.name != folder.name and one.name.casefold() == wanted)
    return next((there for one in alike if (there := ticket_at(one)) is not None), None)


def open_ticket(
    results: Path,
    number: str,
    intake: Mapping[str, str],
    *,
    expedited: bool = False,
    simulated: bool = False,
    runs: Sequence[Mapping[str, object]] = (),
    by: str = "",
    now: datetime | None = None,
) -> WholeTicket:
    """Open a ticket; raises BadInput where it is open already or a field is not known.

    `simulated`: it is about the simulated machine. `runs` that its number left before.
    """
    surplus = set(intake) - set(INTAKE_FIELDS)
    if surplus:
        raise BadInput(LogRefusal.NO_FIELDS(fields=tuple(sorted(surplus)), there=INTAKE_FIELDS))
    folder = ticket_folder(results, number)
    alike = _alike(folder)
    if alike is not None:
        raise BadInput(
            LogRefusal.OTHERS_FOLDER(number=number, folder=str(alike.folder), there=alike.number)
        )
    fields: dict[str, object] = {
        "number": checked_text("number", number),
        **{name: checked_text(name, value) for name, value in intake.items() if value},
        **({"expedited": True} if expedited else {}),
        **({"simulated": True} if simulated else {}),
        "runs_listed": True,
        **({"head_kept": True} if can_vouch() else {}),
    }

    def decide(log: Log) -> Sequence[LogEvent]:
        there = fold(folder, log)
        if there is not None and there.number == number:
            raise BadInput(LogRefusal.OPEN_ALREADY(number=number, opened_utc=there.opened_utc))
        if there is not None:
            raise BadInput(
                LogRefusal.OTHERS_FOLDER(number=number, folder=str(folder), there=there.number)
            )
        moment, name = iso(now or utc_now()), by or who()
        before = [LogEvent(moment, "run_begun", name, run) for run in runs]
        return [LogEvent(moment, "opened", name, fields), *before]

    append(folder / LOG, decide, vouching(folder / LOG))
    return read_ticket(results, number)


Unless = Callable[[Log, WholeTicket], Reason | None]
"""Why something is not put on a ticket, by its log and what that makes of it; None where it is."""


def add(
    ticket: WholeTicket,
    kind: str,
    fields: Mapping[str, object],
    *,
    by: str = "",
    now: datetime | None = None,
    unless: Unless | None = None,
) -> WholeTicket:
    """Append one event to a ticket and read it anew; raises BadInput where it is closed."""
    return add_all(ticket, [(kind, fields)], by=by, now=now, unless=unless)


def add_all(
    ticket: WholeTicket,
    events: Sequence[tuple[str, Mapping[str, object]]],
    *,
    by: str = "",
    now: datetime | None = None,
    unless: Unless | None = None,
) -> WholeTicket:
    """Append several events at once: all of them or none.

    `unless` sees the ticket as it stands when nobody else can write, with what others did since
    `ticket` was read. Raises BadInput for what it names, for a closed ticket, and where what
    vouches for its log is no such file.
    A bench whose clock lags never dates an event before the one that it follows.
    """
    moment, clock = iso(now or utc_now()), None if now else present_stamp()
    check_head(ticket.folder / LOG)

    def decide(log: Log) -> Sequence[LogEvent]:
        there = fold(ticket.folder, log)
        closed = there is not None and there.closed
        if closed and any(kind != "reopened" for kind, _ in events):
            raise BadInput(LogRefusal.CLOSED(number=ticket.number, closed_utc=closed))
        why = unless(log, there) if unless is not None and there is not None else None
        if why is not None:
            raise BadInput(why)
        time_utc = max(moment, log.events[-1].time_utc if log.events else "")
        return [LogEvent(time_utc, kind, by or who(), _checked(f), clock) for kind, f in events]

    append(ticket.folder / LOG, decide, vouching(ticket.folder / LOG))
    fresh = ticket_at(ticket.folder)
    assert fresh is not None
    return fresh


def checked_text(name: str, value: str) -> str:
    """A text that may be kept; raises BadInput where it is longer than anybody types."""
    if len(value) > MOST_TEXT:
        raise BadInput(LogRefusal.TEXT_TOO_LONG(field=name, count=len(value), most_count=MOST_TEXT))
    return value.replace("\0", "")


def _checked(fields: Mapping[str, object]) -> dict[str, object]:
    return {k: checked_text(k, v) if isinstance(v, str) else v for k, v in fields.items()}


def who() -> str:
    """Who works here: BURNIN_TECHNICIAN, else the name of the account."""
    named = os.environ.get("BURNIN_TECHNICIAN", "")
    if named:
        return named
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return ""
