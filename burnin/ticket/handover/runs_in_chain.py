"""The runs of a ticket's chain: all that the log lists are there, none else, each as it ended."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

from burnin.core.errors import BadInput, RecordError
from burnin.core.meaning import Reason
from burnin.record.chain import record_head
from burnin.record.event_log import log_of
from burnin.record.sums import RUN_FILE, data_sha256
from burnin.ticket.handover.files_of_folder import sha256_of
from burnin.ticket.handover.meanings import ChainReason, SigningReason
from burnin.ticket.handover.signing import CHECKSUMS, Trusted, verify
from burnin.ticket.handover.standing_on import RunBehind, StandsOn, log_up_to
from burnin.ticket.log.ticket_from_log import LOG
from burnin.ticket.log.whole_ticket import RunListed, WholeTicket
from burnin.ticket.proven.past_runs import PastRun, past_run

Seen = tuple[RunBehind, bool]
"""A run as the newest handover saw it, and whether the log tells of it again since."""


def records_in(folder: Path) -> tuple[Path, ...]:
    """Folders of records in a ticket's folder, by name."""
    return tuple(sorted(path.parent for path in folder.glob(f"*/{RUN_FILE}")))


def runs_unlike(then: WholeTicket, handover: str, says: StandsOn) -> Iterator[Reason]:
    """Whether a handover names the runs that the log listed by then, no more and no fewer.

    An older version named those that count alone, and tickets of older ones list no runs.
    """
    named = {run.folder for run in says.runs}
    if not then.runs_listed:
        return
    if not named <= set(then.runs) or (says.every_run and named != set(then.runs)):
        yield ChainReason.RUNS_UNLIKE(handover=handover)


def run_faults(
    ticket: WholeTicket,
    raw: bytes,
    stand: Mapping[str, StandsOn],
    trusted: Trusted,
    *,
    must_be_signed: bool,
) -> Iterator[Reason]:
    """What of the runs is not as the log and the handovers say; `raw` is the log.

    `must_be_signed`: of a run that came to its end, also where no handover saw the signature.
    """
    there = {folder.name: folder for folder in records_in(ticket.folder)}
    behind = _newest_of_each(stand, raw)
    for name, listed in ticket.runs.items():
        folder = ticket.folder / name
        if Path(name).name != name or (name not in there and (listed.ended or not folder.is_dir())):
            yield _gone(name, behind.get(name))
    for name, seen in behind.items():
        if name not in ticket.runs and not (ticket.folder / name).is_dir():
            yield _gone(name, seen)
    for name, folder in there.items():
        newest = behind.get(name)
        yield from _of_record(ticket, folder, newest, trusted, must_be_signed=must_be_signed)


def _gone(name: str, seen: Seen | None) -> Reason:
    if seen is not None and seen[0].counts:
        return SigningReason.OF_RECORD(run=name, fault=SigningReason.RECORD_GONE())
    return ChainReason.RUN_GONE(run=name)


def _newest_of_each(stand: Mapping[str, StandsOn], raw: bytes) -> dict[str, Seen]:
    """Each run as the newest handover saw it, and whether the log tells of it again since."""
    whole = log_of(raw, LOG.as_posix()).events
    found: dict[str, Seen] = {}
    for says in stand.values():
        then = log_up_to(raw, says.log_sha256)
        if then is None:
            continue
        since = whole[len(log_of(then, LOG.as_posix()).events) :]
        told = {str(event.fields.get("run", "")) for event in since}
        for run in says.runs:
            found[run.folder] = (run, run.folder in told)
    return found


def _of_record(
    ticket: WholeTicket,
    folder: Path,
    seen: Seen | None,
    trusted: Trusted,
    *,
    must_be_signed: bool,
) -> Iterator[Reason]:
    name = folder.name
    listed = ticket.runs.get(name)
    if listed is None and ticket.runs_listed:
        yield ChainReason.RUN_ADDED(run=name)
        return
    signed = (seen is not None and seen[0].signed) or (
        must_be_signed and listed is not None and listed.ended
    )
    faults = list(_file_faults(folder, listed, trusted, signed=signed))
    yield from (SigningReason.OF_RECORD(run=name, fault=fault) for fault in faults)
    try:
        run = past_run(folder)
    except RecordError as error:
        if not faults:
            yield ChainReason.RUN_NOT_READ(run=name, error=error.told)
        return
    if run.run_id != name:
        yield ChainReason.RUN_SWAPPED(run=name, holds=run.run_id)
    elif run.run.ticket.number != ticket.number:
        yield ChainReason.RUN_OF_OTHER_TICKET(run=name, number=run.run.ticket.number or "–")
    elif not faults:
        yield from _made_anew(ticket, run, listed, seen)


def _made_anew(
    ticket: WholeTicket, run: PastRun, listed: RunListed | None, seen: Seen | None
) -> Iterator[Reason]:
    name = run.folder.name
    if listed is not None and listed.ended and listed.data_sha256:
        head_is_other = bool(listed.head) and listed.head != record_head(run.folder)
        if run.changed_since_end(ticket) or head_is_other:
            yield ChainReason.RUN_MADE_ANEW(run=name)
        return
    if seen is None or seen[1]:
        return
    then = seen[0]
    if then.data_sha256:
        if then.data_sha256 != data_sha256(run.folder):
            yield ChainReason.RUN_MADE_ANEW(run=name)
    elif then.checksums_sha256 and sha256_of(run.folder / CHECKSUMS) != then.checksums_sha256:
        changed = SigningReason.LIST_CHANGED_SINCE(file=CHECKSUMS)
        yield SigningReason.OF_RECORD(run=name, fault=changed)


def _file_faults(
    folder: Path, listed: RunListed | None, trusted: Trusted, *, signed: bool
) -> Iterator[Reason]:
    """What of a record's files differs from its list; a run that was cut short has none."""
    try:
        found = verify(folder, trusted=trusted).faults
    except BadInput:
        if signed or listed is None or listed.ended:
            yield SigningReason.FILE_MISSING(file=CHECKSUMS)
        return
    for fault in found:
        if signed or not fault.means(SigningReason.NO_SIGNATURE):
            yield fault
