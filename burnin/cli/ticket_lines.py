"""A ticket on the terminal: what it owes, and what comes next, in as few lines as possible."""

from __future__ import annotations

import shutil
import sys
import textwrap
from collections.abc import Iterable, Iterator
from datetime import datetime

from burnin.cli.ticket_terms import TicketLine
from burnin.core.meaning import Term, Value
from burnin.core.plain import plain
from burnin.core.reading import Reading, Verdict
from burnin.record.event_log import read_log
from burnin.report.languages.catalogue import Catalogue
from burnin.report.ticket.tables import before_power_table
from burnin.ticket.event_notes import correction_note, story
from burnin.ticket.log.days_and_spans import utc_now
from burnin.ticket.log.ticket_from_log import LOG
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.meanings import RepairNote
from burnin.ticket.next_step import next_step
from burnin.ticket.owed_work import Owes, owed_now
from burnin.ticket.shop.shop_file import FILE, load_shop, shop_folder
from burnin.ticket.ticket_list import Line


def step_lines(ticket: WholeTicket, words: Catalogue) -> Iterator[str]:
    """What is owed, and the next step."""
    yield from owed_lines(ticket, words)
    yield words.say(next_step(ticket))


def owed_lines(
    ticket: WholeTicket, words: Catalogue, now: datetime | None = None
) -> Iterator[str]:
    """What is owed, one thing a line."""
    moment = now or utc_now()
    columns = shutil.get_terminal_size((80, 24)).columns if sys.stdout.isatty() else 0
    for owes in owed_now(ticket, now=moment):
        yield from folded(f"  {words.say(_owed_line(owes, moment))}", columns)


def folded(line: str, columns: int) -> list[str]:
    """A line as it fits so many columns, deeper from the second on; whole where 0, as in a pipe."""
    if not columns or len(line) < columns:
        return [line]
    most = max(24, columns - 1)
    return textwrap.wrap(line, most, subsequent_indent=" " * 8, break_on_hyphens=False)


def _owed_line(owes: Owes, now: datetime) -> Term:
    if owes.may_be_done(now):
        return TicketLine.OWED(what=owes.what, reason=owes.reason)
    return TicketLine.OWED_FROM(what=owes.what, reason=owes.reason, from_utc=owes.from_utc)


def whole_story(ticket: WholeTicket, words: Catalogue) -> Iterator[str]:
    """Every event, one a line."""
    for flaw in ticket.flaws:
        yield words.say(TicketLine.DAMAGED(flaw=flaw))
    for event, note in story(read_log(ticket.folder / LOG).events):
        when = event.time_utc[:16].replace("T", " ")
        yield f"{when}  {event.by:<10}  {words.say(note)}"


def correction_line(ticket: WholeTicket, words: Catalogue) -> str:
    """The slip that was put right last."""
    return words.say(correction_note(ticket.corrections[-1], was_short=False))


def repair_line(ticket: WholeTicket, words: Catalogue) -> str:
    """The repair that was entered last, with its number, and until when it cures."""
    made = ticket.repairs[-1]
    data: dict[str, Value] = {"repair": made.number, "what": made.what, "number": ticket.number}
    if made.cured_utc:
        return words.say(RepairNote.KEPT_CURING(cured_utc=made.cured_utc, **data))
    return words.say(RepairNote.KEPT(**data))


def listing(lines: Iterable[Line], words: Catalogue) -> Iterator[str]:
    """Tickets with what each owes."""
    found = list(lines)
    if not found:
        yield words.say(TicketLine.NO_OPEN_TICKET())
    for line in found:
        ticket = line.ticket
        promised = ticket.intake.get("promised", "") or words.say(TicketLine.NO_DAY())
        who = ticket.intake.get("customer", "")[:28]
        card = ticket.intake.get("card", "")[:28]
        marks = ", ".join(_marks(line, words))
        yield f"{ticket.number[:20]:<12} {promised:<10}  {who:<20} {card:<22} {marks}"
        yield from owed_lines(ticket, words)


def _marks(line: Line, words: Catalogue) -> Iterator[str]:
    ticket = line.ticket
    if line.late_days:
        yield words.say(TicketLine.DAYS_LATE(days_count=line.late_days))
    if ticket.expedited:
        yield words.say(TicketLine.EXPEDITED())
    if ticket.closed:
        yield words.say(TicketLine.CLOSED())
    if ticket.no_fix:
        yield words.say(TicketLine.NOT_REPAIRED())
    if line.verdict:
        yield words.word(line.verdict)


def as_row(line: Line, words: Catalogue) -> dict[str, object]:
    """A line of the listing for a machine to read: codes, and in `told` the words for them."""
    ticket = line.ticket
    return {
        "number": ticket.number,
        **ticket.intake,
        "opened_utc": ticket.opened_utc,
        "expedited": ticket.expedited,
        "closed_utc": ticket.closed,
        "late_days": line.late_days,
        "verdict": line.verdict or "",
        "owed": [
            {
                "stage": owes.stage,
                "what": plain(owes.what),
                "reason": plain(owes.reason),
                "from_utc": owes.from_utc,
                "failed": owes.failed,
                "told": {"what": words.say(owes.what), "reason": words.say(owes.reason)},
            }
            for owes in line.owes
        ],
    }


def value_lines(readings: tuple[Reading, ...], words: Catalogue) -> Iterator[str]:
    """Values before power, judged, in columns."""
    for row, reading in zip(before_power_table(readings, words).rows, readings, strict=True):
        name, value, limit, verdict, why, _ = row
        if reading.verdict is Verdict.NOT_MEASURED and not reading.required:
            continue
        yield f"  {name:<26} {value:<18} {limit:<14} {verdict:<13} {why}".rstrip()


def in_another_language(languages: Iterable[str]) -> Iterator[Term]:
    """Sheets whose warranty the shop's file does not have in their language."""
    there = {str(language) for language, text in load_shop().warranty.items() if text}
    for language in languages:
        if there and language not in there:
            file = str(shop_folder() / FILE)
            yield TicketLine.WARRANTY_IN_ANOTHER(language=language, file=file)


def taken_in_line(ticket: WholeTicket, words: Catalogue) -> str:
    """That a ticket is open, and whose card it is of."""
    told = tuple(filter(None, (ticket.intake["customer"], ticket.intake["card"])))
    return words.say(TicketLine.TAKEN_IN(number=ticket.number, told=told or ("–",)))
