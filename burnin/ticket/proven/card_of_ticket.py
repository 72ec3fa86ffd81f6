"""Which card a ticket is about, and whether the card on the bench or on a record is that one."""

from __future__ import annotations

from burnin.core.meaning import Term
from burnin.ticket.bound_card.binding import bound_facts, is_bound
from burnin.ticket.bound_card.facts import Facts, differences, facts_of
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.proven.past_runs import PastRun, past_runs


def card_of_ticket(ticket: WholeTicket, *, simulated: bool) -> Facts:
    """What is known of a ticket's card; where its log binds none, from its first record."""
    if is_bound(ticket, simulated=simulated):
        return bound_facts(ticket, simulated=simulated)
    for run in past_runs(ticket.folder):
        mine = run.is_of(ticket) and run.simulated == simulated
        if mine and run.run.card and run.run.started_utc >= ticket.last_replaced_utc:
            return facts_of(run.run.card)
    return {}


def unlike(ticket: WholeTicket, now: Facts, *, simulated: bool) -> tuple[Term, ...]:
    """In what a card on the bench differs from the ticket's; empty for the same card."""
    bound = card_of_ticket(ticket, simulated=simulated)
    return tuple(term for _, term in differences(bound, now))


def to_bind(ticket: WholeTicket, now: Facts, *, simulated: bool) -> Facts:
    """What of a card is to be put on the ticket: what its log does not hold yet."""
    held = bound_facts(ticket, simulated=simulated)
    return {name: value for name, value in now.items() if name not in held}


def unlike_of_record(bound: Facts, run: PastRun) -> tuple[Term, ...]:
    """In what the card of a record differs from the bound one; without a card: in nothing.

    What the record's card does not tell was asked when its run began.
    """
    card = run.run.card
    if card is None:
        return ()
    return tuple(term for _, term in differences(bound, facts_of(card), must_be_told=False))
