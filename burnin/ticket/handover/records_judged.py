"""Every record of a ticket, judged at the moment of its handover: why one of them refuses it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from burnin.core.errors import RecordError
from burnin.core.meaning import Reason
from burnin.core.verdict import RunVerdict
from burnin.record.reader import Record, read_record
from burnin.record.reasons import RecordReason
from burnin.replay.verdicts import judge_anew
from burnin.ticket.bound_card.facts import Facts
from burnin.ticket.bound_card.meanings import OtherCard
from burnin.ticket.handover.meanings import HandoverReason
from burnin.ticket.intake.photos import is_gone, is_whole
from burnin.ticket.log.days_and_spans import moment_of
from burnin.ticket.log.store import ticket_at
from burnin.ticket.log.ticket_from_log import LOG
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.proven.card_of_ticket import card_of_ticket, unlike_of_record
from burnin.ticket.proven.past_runs import PastRun, past_run
from burnin.ticket.shop.log_head import why_not_vouched


def refusals(ticket: WholeTicket) -> tuple[Reason, ...]:
    """Why nothing of this ticket may be signed now; empty where all of it holds.

    Refused are logs, photos and records that were edited or torn, records of another ticket or of
    none, of another card, of the wrong kind of machine, and such whose verdict does not follow
    from their own values.
    """
    found = [*_of_log(ticket), *_of_photos(ticket)]
    bound = card_of_ticket(ticket, simulated=ticket.simulated)
    folders = sorted(path.parent for path in ticket.folder.glob("*/run.json"))
    for folder in folders:
        why = next(iter(_of_record(ticket, bound, folder)), None)
        if why is not None:
            found.append(HandoverReason.OF_RECORD(run=folder.name, why=why))
    there = {folder.name for folder in folders}
    for run, listed in ticket.runs.items():
        counted = listed.ended and not listed.other_card and listed.simulated == ticket.simulated
        if counted and run not in there:
            found.append(HandoverReason.OF_RECORD(run=run, why=HandoverReason.RECORD_GONE()))
    return tuple(found)


def why_not_sound(record: Record, *, older: bool = False) -> Reason | None:
    """Why a record as it lies here may not be vouched for; None where it may.

    `older`: it may be of a version whose rows carry no chain.
    """
    judged = judge_anew(record)
    unsound = [r for r in judged.unsound if not (older and r.means(RecordReason.NO_CHAIN))]
    torn: tuple[Reason, ...] = ()
    if record.run.verdict is not RunVerdict.INCOMPLETE:
        torn = tuple(r for r in record.condition.torn if r.means(RecordReason.END_TORN))
    found = (*unsound, *torn, *judged.disagreements)
    return found[0] if found else None


def why_not_as_it_ended(folder: Path) -> Reason | None:
    """Why a record is not the one that its ticket's log saw at its end; None where it is.

    None too where there is no ticket, or its log cannot be read: that is told elsewhere.
    """
    try:
        ticket = ticket_at(folder.parent)
        changed = ticket is not None and past_run(folder).changed_since_end(ticket)
    except RecordError:
        return None
    return HandoverReason.CHANGED_SINCE_END() if changed else None


def _of_photos(ticket: WholeTicket) -> Iterator[Reason]:
    """Pictures that are not as they were handed in; the sheets would print somebody else's."""
    for photo in ticket.photos:
        if not is_gone(ticket, photo) and not is_whole(ticket, photo):
            yield HandoverReason.PHOTO_CHANGED(file=photo.file, original=photo.original)


def _of_log(ticket: WholeTicket) -> Iterator[Reason]:
    if ticket.head_kept:
        why = why_not_vouched(ticket.folder / LOG)
        if why is not None:
            yield HandoverReason.OF_LOG(why=why)


def _of_record(ticket: WholeTicket, bound: Facts, folder: Path) -> Iterator[Reason]:
    try:
        run, record = past_run(folder), read_record(folder)
    except RecordError as error:
        yield HandoverReason.NOT_READ(error=error.told)
        return
    if not run.is_of(ticket):
        number = run.run.ticket.number
        if number != ticket.number:
            yield HandoverReason.OTHER_TICKET(number=number or "–")
        else:
            yield HandoverReason.NOT_LISTED()
        return
    if run.simulated != ticket.simulated:
        yield HandoverReason.SIMULATED() if run.simulated else HandoverReason.REAL()
        return
    yield from _of_own_record(ticket, bound, run, record)


def _of_own_record(
    ticket: WholeTicket, bound: Facts, run: PastRun, record: Record
) -> Iterator[Reason]:
    listed = ticket.runs.get(run.run_id)
    if run.changed_since_end(ticket):
        yield HandoverReason.CHANGED_SINCE_END()
    why = why_not_sound(record, older=not ticket.runs_listed or run.vouched_by(ticket))
    if why is not None:
        yield why
    since = moment_of(ticket.last_repair_utc)
    counts = run.started >= since if listed is None else not listed.before_work
    if counts and not (listed is not None and listed.other_card):
        differs = unlike_of_record(bound, run)
        if differs:
            yield OtherCard.OF_RECORD(differs=differs)
