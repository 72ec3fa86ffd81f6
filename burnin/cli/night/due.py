"""Which cards of a night are to be burnt in now, which later, and which not again.

A card with a ticket is burnt in for what its ticket owes and may be done by now, and again when the
time of something else comes that it owes. What failed, was ended by a guard or came to no word is
not tried again in the same night: somebody has to look at it. A card without a ticket has one run.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import Enum
from pathlib import Path

from burnin.card.capabilities import Card
from burnin.cli.batch.choosing import is_bound_to
from burnin.cli.night.queue_file import QueuedCard, whole_address
from burnin.core.clock import moment_of
from burnin.core.errors import BadInput
from burnin.core.verdict import RunVerdict
from burnin.profile.loader import LoadedProfile, load_profile
from burnin.record.batches.batch import Batch, CardOfBatch
from burnin.ticket.bound_card.facts import facts_of
from burnin.ticket.log.refusals import LogRefusal
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.numbers import ticket_of_number
from burnin.ticket.owed_work import stages_owed
from burnin.ticket.proven.counting import runs_that_count
from burnin.ticket.proven.proven_stages import standing
from burnin.ticket.proven.ticket_profile import profile_of_ticket
from burnin.ticket.put_off import stages_put_off

_NOT_AGAIN = (RunVerdict.FAIL, RunVerdict.ABORTED, RunVerdict.INCOMPLETE, None)


class Standing(Enum):
    """How a card of the queue stands."""

    NOW = "now"
    LATER = "later"
    NOT_THERE = "not there"
    DONE = "done"


@dataclass(frozen=True)
class Looked:
    """One card of the queue, looked at: its address as far as it is known, its newest run's end.

    `from_utc`: when something that it owes may be done, where that is still to come.
    """

    queued: QueuedCard
    standing: Standing
    address: str = ""
    last: CardOfBatch | None = None
    from_utc: datetime | None = None


@dataclass(frozen=True)
class Bench:
    """What is looked at: the cards that are there, the results, and this night's batches so far."""

    cards: Sequence[Card]
    results: Path
    simulated: bool
    batches: Sequence[Batch]


def look(queued: QueuedCard, bench: Bench, now: datetime) -> Looked:
    """How a card of the queue stands; raises BadInput, RecordError for a ticket that is none."""
    ticket = ticket_of_number(bench.results, queued.ticket) if queued.ticket else None
    if queued.ticket and ticket is None and not queued.card:
        told = LogRefusal.NO_TICKET(number=queued.ticket, results=str(bench.results))
        raise BadInput(told)
    address = _address(queued, ticket, bench)
    last, began = _last(queued, address, bench.batches)
    if ticket is None:
        if last is not None:
            return Looked(queued, Standing.DONE, address, last)
        there = Standing.NOW if address else Standing.NOT_THERE
        return Looked(queued, there, address)
    if ticket.closed or ticket.no_fix or (last is not None and last.word in _NOT_AGAIN):
        return Looked(queued, Standing.DONE, address, last)
    loaded = load_profile(queued.profile) if queued.profile else None
    owes = set(stages_owed(ticket, loaded, now))
    if last is not None and began is not None:
        owes -= set(stages_owed(ticket, loaded, began))  # those were its to do, and it did
    elif loaded is None and not owes:
        owes = {""} if _never_run(ticket) else set()
    later = _later(ticket, loaded, now)
    if owes:
        return Looked(queued, Standing.NOW if address else Standing.NOT_THERE, address, last)
    if later:
        return Looked(queued, Standing.LATER, address, last, min(later))
    return Looked(queued, Standing.DONE, address, last)


def taken_off(seen: Sequence[Looked], batches: Sequence[Batch]) -> list[Looked]:
    """Cards that this night burnt in and that its queue, edited since, no longer names."""
    tickets = {one.queued.ticket for one in seen if one.queued.ticket}
    places = {one.address for one in seen}
    newest = {card.address: card for batch in batches for card in batch.cards}
    return [
        Looked(QueuedCard(ticket=card.ticket, card=card.address), Standing.DONE, address, card)
        for address, card in sorted(newest.items())
        if address not in places and not (card.ticket and card.ticket in tickets)
    ]


def _later(
    ticket: WholeTicket, loaded: LoadedProfile | None, now: datetime
) -> list[datetime]:
    """When stages may be done that the ticket owes and that wait for their time."""
    runs = runs_that_count(ticket)
    loaded = loaded or profile_of_ticket(ticket, runs)
    if loaded is None:
        return []
    stand = standing(ticket, loaded, runs, now)
    off = stages_put_off(ticket, loaded.profile, now)
    moments = (moment_of(put.from_utc) for name, put in off.items() if name not in stand)
    return [moment for moment in moments if moment is not None and moment > now]


def _never_run(ticket: WholeTicket) -> bool:
    """Whether a profile by the shop's rule may be carried out for the first time."""
    return not ticket.intake.get("profile", "") and not ticket.runs


def _address(queued: QueuedCard, ticket: WholeTicket | None, bench: Bench) -> str:
    """Where the card sits now; empty where it is not there."""
    wanted = whole_address(queued.card)
    for card in bench.cards:
        identity = card.identity()
        if wanted and identity.address.lower() == wanted:
            return identity.address
        if not wanted and ticket is not None:
            facts = facts_of(identity, card.outputs())
            if is_bound_to(ticket, facts, simulated=bench.simulated):
                return identity.address
    return ""


def _last(
    queued: QueuedCard, address: str, batches: Sequence[Batch]
) -> tuple[CardOfBatch | None, datetime | None]:
    """Its newest run of this night, and when that one's batch began."""
    for batch in reversed(batches):
        for card in batch.cards:
            mine = card.ticket == queued.ticket if queued.ticket else card.address == address
            if mine:
                return card, moment_of(batch.started_utc)
    return None, None
