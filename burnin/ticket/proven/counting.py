"""Which runs count for a ticket: its own, of its card, since the card was last worked on."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from burnin.ticket.log.days_and_spans import moment_of
from burnin.ticket.log.store import ticket_at
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.proven.card_of_ticket import card_of_ticket, unlike_of_record
from burnin.ticket.proven.past_runs import PastRun, past_runs


def runs_that_count(
    ticket: WholeTicket, *, simulated: bool | None = None
) -> tuple[PastRun, ...]:
    """Runs that say something of the ticket's card as it is now, oldest first.

    What was shown before the last repair says nothing of it, nor do runs of another ticket, of
    another card, such whose record was changed since their end, of software that works the bench's
    processor, or on the other kind of machine: those of the simulated one for a ticket that is
    simulated, those of a real one for any other (`simulated` says it for a run that is about to
    begin).
    """
    ticket = _as_logged_now(ticket)
    kind = ticket.simulated if simulated is None else simulated
    since = moment_of(ticket.last_repair_utc)
    bound = card_of_ticket(ticket, simulated=kind)
    return tuple(
        replace(run, vouched=run.vouched_by(ticket), may_be_older=not ticket.runs_listed)
        for run in past_runs(ticket.folder)
        if _is_since(ticket, run, since)
        and run.simulated == kind
        and run.is_of(ticket)
        and not run.of_software
        and not run.changed_since_end(ticket)
        and not _of_other_card(ticket, run)
        and not unlike_of_record(bound, run)
    )


def _is_since(ticket: WholeTicket, run: PastRun, since: datetime) -> bool:
    """Whether a run began after the card was last worked on; where the log lists it, as it says."""
    listed = ticket.runs.get(run.run_id)
    return run.started >= since if listed is None else not listed.before_work


def _as_logged_now(ticket: WholeTicket) -> WholeTicket:
    """The same ticket with the runs that its log lists by now: runs come to it from elsewhere."""
    fresh = ticket_at(ticket.folder)
    if fresh is None:
        return ticket
    return replace(ticket, runs=fresh.runs, card_events=fresh.card_events)


def _of_other_card(ticket: WholeTicket, run: PastRun) -> bool:
    """Whether somebody said, when it began, that it is about another card."""
    listed = ticket.runs.get(run.run_id)
    return listed is not None and listed.other_card
