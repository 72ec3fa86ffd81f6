"""Runs on a ticket's log: which began, on which card, and what their records were at their end.

What a log holds lies elsewhere than the record: a record that was put into the folder, or changed
after its end, is told by it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from burnin.core.clock import iso
from burnin.core.errors import BadInput
from burnin.core.meaning import Term
from burnin.core.verdict import RunVerdict
from burnin.record.chain import record_head
from burnin.record.event_log import Log, LogEvent, append
from burnin.record.sums import data_sha256
from burnin.ticket.bound_card.binding import as_logged
from burnin.ticket.bound_card.facts import Facts
from burnin.ticket.bound_card.meanings import OtherCard
from burnin.ticket.log.both_clocks import present_stamp
from burnin.ticket.log.days_and_spans import utc_now
from burnin.ticket.log.store import who
from burnin.ticket.log.ticket_from_log import LOG, fold
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.proven.card_of_ticket import to_bind, unlike
from burnin.ticket.refusals import TicketRefusal
from burnin.ticket.shop.log_head import vouching

_END_IS_WORTH_S = 120.0
"""How long the end of a run waits for the log: a run took longer than anybody at a keyboard."""


@dataclass(frozen=True)
class RunBegins:
    """A run of a ticket that is about to begin.

    `other_card`: somebody said that it goes on though the card is not the ticket's. `now_words`:
    why stages are carried out before their time; `now_stages` which.
    """

    run: str
    simulated: bool
    card: Facts | None
    other_card: bool = False
    now_words: str = ""
    now_stages: tuple[str, ...] = ()


def begun(
    folder: Path, run: RunBegins, *, by: str = "", now: datetime | None = None
) -> None:
    """Put on the ticket in `folder` that a run begins, and bind its card where it is not bound.

    Raises BadInput where the ticket is closed, or another run has bound another card meanwhile.
    """

    def decide(log: Log) -> Sequence[LogEvent]:
        ticket = fold(folder, log)
        if ticket is None:
            return []
        if ticket.closed:
            raise BadInput(TicketRefusal.CLOSED(number=ticket.number, closed_utc=ticket.closed))
        moment = max(iso(now or utc_now()), log.events[-1].time_utc)
        name, clock = by or who(), None if now else present_stamp()
        return [
            LogEvent(moment, kind, name, fields, clock) for kind, fields in _events(ticket, run)
        ]

    append(folder / LOG, decide, vouching(folder / LOG))


def ended(
    folder: Path,
    run: str,
    record: Path,
    verdict: RunVerdict,
    *,
    by: str = "",
    now: datetime | None = None,
) -> None:
    """Put on the ticket in `folder` how a run ended, and what its record is from now on."""
    fields = {
        "run": run,
        "verdict": verdict.value,
        "head": record_head(record),
        "data_sha256": data_sha256(record),
    }

    def decide(log: Log) -> Sequence[LogEvent]:
        moment = max(iso(now or utc_now()), log.events[-1].time_utc if log.events else "")
        clock = None if now else present_stamp()
        return [LogEvent(moment, "run_ended", by or who(), fields, clock)] if log.events else []

    log = folder / LOG
    append(log, decide, vouching(log), give_up_after_s=_END_IS_WORTH_S)


def _events(ticket: WholeTicket, run: RunBegins) -> list[tuple[str, dict[str, object]]]:
    events: list[tuple[str, dict[str, object]]] = []
    if run.card is not None and not run.other_card:
        differs = unlike(ticket, run.card, simulated=run.simulated)
        if differs:
            raise other_card_refused(ticket, differs)
        fresh = to_bind(ticket, run.card, simulated=run.simulated)
        if fresh:
            kind = {"simulated": True} if run.simulated else {}
            events.append(("bound", {"run": run.run, **kind, "facts": as_logged(fresh)}))
    if run.now_stages and ticket.reason_of_now(run.run) != run.now_words:
        stages = list(run.now_stages)
        events.append(("run_now", {"run": run.run, "reason": run.now_words, "stages": stages}))
    marks = {"simulated": run.simulated, "other_card": run.other_card}
    events.append(("run_begun", {"run": run.run, **{k: v for k, v in marks.items() if v}}))
    return events


def other_card_refused(ticket: WholeTicket, differs: tuple[Term, ...]) -> BadInput:
    """The error that says in what the card on the bench is not the ticket's, and what to type."""
    return BadInput(OtherCard.REFUSED(number=ticket.number, differs=differs))
