"""Which cards a batch has, with which ticket and profile each: all said before anything begins."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from burnin.card.capabilities import Card
from burnin.cli.batch.refusals import BatchRefusal, BatchTerm
from burnin.cli.terms import CliRefusal
from burnin.core.errors import BadInput, ProfileError
from burnin.core.identity import Identity
from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured, known
from burnin.profile.loader import LoadedProfile, load_profile
from burnin.ticket.bound_card.binding import bound_facts
from burnin.ticket.bound_card.facts import UNIQUE, Facts, differences, facts_of
from burnin.ticket.log.store import all_tickets
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.numbers import ticket_of_number
from burnin.ticket.proven.past_runs import past_runs
from burnin.ticket.proven.ticket_profile import profile_of_ticket
from burnin.ticket.shop.shop_file import ProfileRule


@dataclass(frozen=True)
class Named:
    """A card as it was asked for: its address; ticket and profile where they were named with it."""

    address: str
    ticket: str = ""
    profile: str = ""


@dataclass(frozen=True)
class Chosen:
    """A card of the batch. `asks_profile`: what its run is told; empty: its ticket says it."""

    card: Card
    identity: Identity
    slot_number: int
    slot_name: str
    ticket: str
    profile: str
    asks_profile: str


@dataclass(frozen=True)
class Wanted:
    """What the technician and the shop say; `named` empty: every card of the bench."""

    named: tuple[Named, ...]
    profile: str
    rules: Sequence[ProfileRule]
    results: Path
    simulated: bool


def named_cards(given: Sequence[str]) -> tuple[Named, ...]:
    """``ADDRESS`` or ``ADDRESS=TICKET`` as typed; raises BadInput for a card named twice."""
    found = []
    for text in given:
        address, _, ticket = text.partition("=")
        found.append(Named(_whole(address), ticket.strip()))
    addresses = [one.address for one in found]
    twice = sorted({a for a in addresses if addresses.count(a) > 1})
    if twice:
        raise BadInput(BatchRefusal.CARD_TWICE(addresses=tuple(twice)))
    return tuple(found)


def choose(cards: Sequence[Card], wanted: Wanted) -> tuple[Chosen, ...]:
    """Every card of the batch in bus order; raises BadInput with a line for each that cannot be."""
    if wanted.profile:
        load_profile(wanted.profile)  # what is wrong with it is told once, not by card
    there = {card.identity().address.lower(): card for card in cards}
    named = wanted.named or tuple(Named(address) for address in sorted(there))
    missing = [one.address for one in named if one.address not in there]
    if missing:
        seen = tuple(sorted(there)) or (BatchTerm.NO_ADDRESS(),)
        raise BadInput(BatchRefusal.NO_CARD_AT(addresses=tuple(missing), there=seen))
    tickets = [t for t in all_tickets(wanted.results)[0] if not t.closed]
    chosen, faults = [], list[Reason]()
    for one in sorted(named, key=lambda each: each.address):
        try:
            chosen.append(_chosen(there[one.address], one, wanted, tickets))
        except BadInput as fault:
            faults.append(CliRefusal.CARD_REFUSED(address=one.address, why=fault.told))
    if faults:
        told = faults[0] if len(faults) == 1 else CliRefusal.CARDS_REFUSED(cards=tuple(faults))
        raise BadInput(told)
    numbers = [one.ticket for one in chosen if one.ticket]
    twice = sorted({number for number in numbers if numbers.count(number) > 1})
    if twice:
        raise BadInput(BatchRefusal.TICKET_TWICE(numbers=tuple(twice)))
    return tuple(chosen)


def _chosen(
    card: Card, named: Named, wanted: Wanted, tickets: Sequence[WholeTicket]
) -> Chosen:
    identity, position = card.identity(), card.position()
    if named.ticket:
        ticket = ticket_of_number(wanted.results, named.ticket)
    else:
        ticket = _ticket_bound(facts_of(identity, card.outputs()), tickets, wanted)
    number = ticket.number if ticket is not None else named.ticket
    slot = None if isinstance(position, NotMeasured) else known(position.slot_number)
    name = None if isinstance(position, NotMeasured) else known(position.slot_name)
    seat = (card, identity, slot or 0, name or "")
    of_ticket = None if ticket is None else _profile_of(ticket)
    if of_ticket is not None:
        return Chosen(*seat, number, of_ticket.name, "")
    profile = named.profile or _by_rule(identity, wanted.rules) or wanted.profile
    if not profile:
        raise BadInput(
            BatchRefusal.NO_PROFILE(
                card=known(identity.name) or BatchTerm.THIS_CARD(),
                ids=f"{identity.vendor_id:04x}:{identity.device_id:04x}",
            )
        )
    return Chosen(*seat, number, load_profile(profile).name, profile)


def _profile_of(ticket: WholeTicket) -> LoadedProfile | None:
    """The ticket's own profile; raises BadInput for one that it names and that cannot be had."""
    found = profile_of_ticket(ticket, past_runs(ticket.folder))
    named = ticket.intake.get("profile", "")
    if found is not None or not named:
        return found
    try:
        return load_profile(named)
    except ProfileError as error:
        told = CliRefusal.TICKETS_PROFILE(number=ticket.number, why=error.told)
        raise BadInput(told) from error


def _ticket_bound(
    facts: Facts, tickets: Sequence[WholeTicket], wanted: Wanted
) -> WholeTicket | None:
    """The open ticket whose card this is, by a number that no other card has; None: none."""
    mine = []
    for ticket in tickets:
        if is_bound_to(ticket, facts, simulated=wanted.simulated):
            mine.append(ticket)
    if len(mine) > 1:
        numbers = tuple(ticket.number for ticket in mine)
        raise BadInput(BatchRefusal.SEVERAL_TICKETS(numbers=numbers))
    return mine[0] if mine else None


def is_bound_to(ticket: WholeTicket, facts: Facts, *, simulated: bool) -> bool:
    """Whether a ticket has bound this very card."""
    bound = bound_facts(ticket, simulated=simulated)
    same = any(name in bound and bound[name] == facts.get(name) for name in UNIQUE)
    return same and not differences(bound, facts)


def _by_rule(identity: Identity, rules: Sequence[ProfileRule]) -> str:
    name = known(identity.name) or ""
    fits = (r.profile for r in rules if r.fits(name, identity.vendor_id, identity.device_id))
    return next(fits, "")


def _whole(address: str) -> str:
    text = address.strip().lower()
    return text if text.count(":") == 2 else f"0000:{text}"
