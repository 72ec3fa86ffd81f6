"""The board in words: open tickets by urgency, with what each owes and the word of its last run."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from burnin.core.meaning import Meaning, Value
from burnin.page.board_terms import BoardTerm, RoundTerm
from burnin.page.telling.drawn import KINDS
from burnin.page.telling.seat import place_of
from burnin.page.tickets.seen import RunSeen, TicketSeen, WorkedOut
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.one_line import one_line
from burnin.report.sheet.marks import outcome
from burnin.ticket.owed_work import Owes
from burnin.ticket.ticket_list import late_days

MOST_SHOWN = 60
_MOST_OWED, _MOST_FAULTS = 4, 5
Told = dict[str, object]


def tell_board(
    tickets: Sequence[TicketSeen],
    faults: Sequence[Value],
    words: Catalogue,
    results: Path,
    now: datetime,
) -> Told:
    """Everything that the board shows; tickets come the most urgent first."""
    still_open = [seen for seen in tickets if not seen.ticket.closed]
    more = len(still_open) - MOST_SHOWN
    return {
        "count": words.say(BoardTerm.OPEN_COUNT(tickets_count=len(still_open))),
        "nothing": "" if still_open else words.say(BoardTerm.NO_OPEN_TICKET(folder=str(results))),
        "more": words.say(BoardTerm.MORE_TICKETS(tickets_count=more)) if more > 0 else "",
        "faults": [
            one_line(words.say(BoardTerm.NOT_READ(fault=fault)), 400)
            for fault in faults[:_MOST_FAULTS]
        ],
        "tickets": [_line(seen, words, now) for seen in still_open[:MOST_SHOWN]],
    }


def _line(seen: TicketSeen, words: Catalogue, now: datetime) -> Told:
    """A ticket on the board; a customer's name is nobody's who passes by."""
    ticket = seen.ticket
    return {
        "name": seen.name,
        "number": one_line(ticket.number, 40),
        "card": one_line(ticket.intake.get("card", ""), 80),
        "marks": marks(seen, words, now),
        "late": late_days(ticket, now) > 0,
        "word": last_word(seen, words),
        "next": next_step_told(seen.worked_out, words),
        "owed": owed_lines(seen.worked_out, words, now, _MOST_OWED),
    }


def marks(seen: TicketSeen, words: Catalogue, now: datetime) -> list[str]:
    """Day, lateness and what else sets a ticket apart."""
    ticket, promised = seen.ticket, seen.ticket.intake.get("promised", "")
    late = late_days(ticket, now)
    found: list[Meaning] = []
    if late:
        found.append(BoardTerm.DAYS_LATE(days_count=late))
    if ticket.expedited:
        found.append(BoardTerm.EXPEDITED())
    if ticket.closed:
        found.append(BoardTerm.CLOSED())
    else:
        found.append(BoardTerm.PROMISED(day_utc=promised) if promised else BoardTerm.NO_DAY())
    if ticket.simulated:
        found.append(BoardTerm.SIMULATED())
    at_work = [run.run for run in seen.runs if run.goes_on]
    if at_work and (place := place_of(at_work[-1], words)):
        found.append(RoundTerm.CARD_AT_WORK(place=place))
    return [one_line(words.say(mark), 60) for mark in found]


def last_word(seen: TicketSeen, words: Catalogue) -> Told:
    """The word of the newest run, as its record bears it out."""
    if not seen.runs:
        return {"text": words.say(BoardTerm.NO_RUN()), "kind": "none"}
    return run_word(seen.runs[-1], words)


def run_word(run: RunSeen, words: Catalogue) -> Told:
    """The word of a run: no verdict is told before its record was looked over."""
    if run.judged is not None:
        found = outcome(run.judged[0], words, simulated=run.run.is_simulated)
        return {"text": found.word, "kind": KINDS[found.shape]}
    if run.run.ended_utc:
        return {"text": words.say(BoardTerm.LOOKED_OVER()), "kind": "none"}
    term = BoardTerm.GOES_ON if run.goes_on else BoardTerm.CUT_OFF
    return {"text": words.say(term()), "kind": "now" if run.goes_on else "open"}


def next_step_told(found: WorkedOut | None, words: Catalogue) -> str:
    """The one step that comes next, empty while nobody knows."""
    return "" if found is None else one_line(words.say(found.next_step), 300)


def owed_lines(
    found: WorkedOut | None, words: Catalogue, now: datetime, most: int
) -> list[Told]:
    """What is owed and from when; that it is being worked out, or could not be."""
    if found is None:
        return [{"text": words.say(BoardTerm.WORKING_OUT()), "kind": "none"}]
    if found.fault:
        told = words.say(BoardTerm.NOT_WORKED_OUT(fault=found.fault))
        return [{"text": one_line(told, 400), "kind": "open"}]
    if not found.owes:
        return [{"text": words.say(BoardTerm.OWED_NOTHING()), "kind": "pass"}]
    shown = [_owed(owes, words, now) for owes in found.owes[:most]]
    left = len(found.owes) - most
    if left > 0:
        more = words.say(BoardTerm.OWED_MORE(owed_count=left))
        shown.append({"text": more, "kind": "none"})
    return shown


def _owed(owes: Owes, words: Catalogue, now: datetime) -> Told:
    if owes.may_be_done(now):
        told = words.say(BoardTerm.OWED_NOW(what=owes.what, reason=owes.reason))
        return {"text": one_line(told, 300), "kind": "fail" if owes.failed else "now"}
    term = BoardTerm.OWED_FROM(what=owes.what, reason=owes.reason, from_utc=owes.from_utc)
    return {"text": one_line(words.say(term), 300), "kind": "later"}
