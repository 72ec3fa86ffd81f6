"""A ticket's chain as it lies there: its log, its runs and its handovers, each held by the others.

The log lists every run with the hash of its record, and every handover with its fingerprint; each
handover holds the log as far as it came, and is signed; the log's last line is signed too. What was
taken out, put in, swapped or made anew breaks one of them. Putting all of it back to an earlier
state breaks none: that is told by a head that was handed out.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from burnin.core.errors import BadInput, RecordError
from burnin.core.files.bounded import read_at_most
from burnin.core.meaning import Note, Reason
from burnin.core.ticket_header import folder_name
from burnin.record.chain import record_head
from burnin.record.event_log import MENDED, MOST_BYTES, checks, log_of
from burnin.ticket.handover.files_of_folder import sha256_of
from burnin.ticket.handover.meanings import ChainNote, ChainReason, SigningReason
from burnin.ticket.handover.runs_in_chain import records_in, run_faults, runs_unlike
from burnin.ticket.handover.signing import CHECKSUMS, FACTS, Trusted, verify
from burnin.ticket.handover.standing_on import StandsOn, log_up_to, read_stands_on
from burnin.ticket.handover.surplus import surplus
from burnin.ticket.log.ticket_from_log import LOG, fold
from burnin.ticket.log.whole_ticket import HandedOver, WholeTicket
from burnin.ticket.shop.log_head import why_not_vouched_lines
from burnin.ticket.shop.meanings import LogHeadReason

PREFIX = "handover-"
_ENDING = ("handed_over", "closed")
"""What a handover itself puts on the log after the line that it stands on."""


@dataclass
class Chain:
    """What was found: faults and notes, and every head that leads up to what lies here."""

    faults: list[Reason] = field(default_factory=list)
    told: list[Note] = field(default_factory=list)
    heads: list[str] = field(default_factory=list)

    def has(self, head: str) -> bool:
        """Whether a head that was handed out, or the first digits of it, is one of these."""
        return any(there.startswith(head) for there in self.heads)


def check_chain(folder: Path, trusted: Trusted, *, torn: str = "", deep: bool = False) -> Chain:
    """Check the ticket in `folder`.

    `torn`: a handover of which it is known already that its files are not as they left. `deep`:
    every file of every handover and record is held against its list, and nothing may be surplus.
    """
    found = Chain()
    try:
        raw = read_at_most(folder / LOG, MOST_BYTES)
        ticket = fold(folder, log_of(raw, LOG.as_posix()))
    except RecordError as error:
        found.faults.append(ChainReason.LOG_NOT_READ(error=error.told))
        return found
    except OSError:
        ticket = None
    if ticket is None:
        found.faults.append(ChainReason.LOG_GONE(file=LOG.as_posix()))
        return found
    stand: dict[str, StandsOn] = {}
    for made in ticket.handed_over:
        whole = made.folder != torn
        found.faults += _folder_faults(ticket, made, trusted, deep=deep and whole)
        if whole:
            found.faults += _handover_faults(ticket, made, raw, stand)
    found.faults += _log_faults(ticket, raw, stand, trusted, found.told)
    found.faults += _added(ticket)
    found.faults += run_faults(ticket, raw, stand, trusted, must_be_signed=deep)
    found.faults += surplus(ticket)
    found.heads = [*checks(raw), *(made.fingerprint for made in ticket.handed_over)]
    found.told.append(_whole(ticket, stand, checks(raw)[-1]))
    return found


def _whole(ticket: WholeTicket, stand: dict[str, StandsOn], head: str) -> Note:
    """How many runs there are, and on how many of them the newest handover does not stand."""
    runs = {*ticket.runs, *(folder.name for folder in records_in(ticket.folder))}
    newest = [stand[made.folder] for made in ticket.handed_over if made.folder in stand][-1:]
    counted = {run.folder for says in newest for run in says.runs if run.counts}
    return ChainNote.WHOLE(
        number=ticket.number,
        runs_count=len(runs),
        left_out_count=len(runs - counted),
        handovers_count=len(ticket.handed_over),
        head=head,
    )


def _folder_faults(
    ticket: WholeTicket, made: HandedOver, trusted: Trusted, *, deep: bool
) -> Iterator[Reason]:
    folder = ticket.folder / made.folder
    if Path(made.folder).name != made.folder or not folder.is_dir():
        yield ChainReason.HANDOVER_GONE(handover=made.folder)
    elif deep:
        try:
            own = verify(folder, trusted=trusted).faults
        except BadInput:
            own = (SigningReason.FILE_MISSING(file=CHECKSUMS),)
        yield from (ChainReason.OF_HANDOVER(handover=made.folder, fault=fault) for fault in own)


def _handover_faults(
    ticket: WholeTicket, made: HandedOver, raw: bytes, stand: dict[str, StandsOn]
) -> Iterator[Reason]:
    """Whether a handover is the one that the log lists, and stands on what lies here."""
    folder, name = ticket.folder / made.folder, made.folder
    if Path(name).name != name or not folder.is_dir():
        return
    if not (sha256_of(folder / FACTS) or "").startswith(made.fingerprint or "-"):
        yield ChainReason.HANDOVER_SWAPPED(handover=name)
        return
    says = read_stands_on(folder)
    if isinstance(says, Reason):
        yield ChainReason.OF_HANDOVER(handover=name, fault=says)
        return
    stand[name] = says
    then_raw = log_up_to(raw, says.log_sha256)
    if then_raw is None:
        yield ChainReason.LOG_UNLIKE(handover=name)
        return
    then = fold(ticket.folder, log_of(then_raw, LOG.as_posix()))
    if then is not None:
        yield from runs_unlike(then, name, says)
        before = tuple((m.folder, m.fingerprint) for m in then.handed_over)
        if says.every_run and before != says.handovers:
            yield ChainReason.HANDOVERS_UNLIKE(handover=name)
    for file, (size_bytes, digest) in says.grown.items():
        if _begins_unlike(ticket.folder / file, size_bytes, digest):
            yield ChainReason.FILE_UNLIKE(file=file, handover=name)


def _begins_unlike(path: Path, size_bytes: int, digest: str) -> bool:
    try:
        raw = read_at_most(path, MOST_BYTES)
    except OSError:
        raw = b""
    return len(raw) < size_bytes or hashlib.sha256(raw[:size_bytes]).hexdigest() != digest


def _log_faults(
    ticket: WholeTicket,
    raw: bytes,
    stand: dict[str, StandsOn],
    trusted: Trusted,
    told: list[Note],
) -> Iterator[Reason]:
    log = ticket.folder / LOG
    if ticket.folder.name and not _lies_right(ticket):
        yield ChainReason.OF_OTHER_TICKET(folder=ticket.folder.name, number=ticket.number)
    events = log_of(raw, LOG.as_posix()).events
    why = why_not_vouched_lines(log, checks(raw), trusted.keys, events[-1].time_utc)
    if why is None:
        return
    older = why.means(LogHeadReason.MISSING) and not ticket.head_kept
    if older and (_handover_vouches(raw, stand) or not _has_chains(ticket)):
        told.append(ChainNote.LOG_OF_OLDER_TOOL())
        return
    yield ChainReason.OF_LOG(fault=why)


def _lies_right(ticket: WholeTicket) -> bool:
    try:
        return ticket.folder.resolve().name == folder_name(ticket.number)
    except ValueError:
        return False


def _handover_vouches(raw: bytes, stand: dict[str, StandsOn]) -> bool:
    """Whether a handover holds all of the log but what it put there itself."""
    for says in stand.values():
        then = log_up_to(raw, says.log_sha256)
        if then is None:
            continue
        whole, part = log_of(raw, LOG.as_posix()), log_of(then, LOG.as_posix())
        more = whole.events[len(part.events) :]
        if all(event.kind in (*_ENDING, MENDED) for event in more):
            return True
    return False


def _has_chains(ticket: WholeTicket) -> bool:
    """Whether a record is of a version that vouched for the logs of tickets too."""
    return any(record_head(folder) for folder in records_in(ticket.folder))


def _added(ticket: WholeTicket) -> Iterator[Reason]:
    listed = {made.folder for made in ticket.handed_over}
    for path in sorted(ticket.folder.glob(f"{PREFIX}*")):
        if path.name not in listed:
            yield ChainReason.HANDOVER_ADDED(handover=path.name)
