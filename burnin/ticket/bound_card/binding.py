"""What a ticket's log holds of its card: bound at first enumeration, set free where replaced."""

from __future__ import annotations

from collections.abc import Mapping

from burnin.ticket.bound_card.facts import Facts, facts_kept
from burnin.ticket.bound_card.replaced import SETS_FREE
from burnin.ticket.log.whole_ticket import BOUND, WholeTicket


def is_bound(ticket: WholeTicket, *, simulated: bool) -> bool:
    """Whether the log binds a card; tickets of older versions bind none."""
    return any(e.what == BOUND and e.simulated == simulated for e in ticket.card_events)


def bound_facts(ticket: WholeTicket, *, simulated: bool) -> Facts:
    """What the log holds of the card, without what was replaced since."""
    found: dict[str, int | str | tuple[str, ...]] = {}
    for event in ticket.card_events:
        if event.what == BOUND and event.simulated == simulated:
            found |= facts_kept(event.facts)
        for name in SETS_FREE.get(event.what, ()):
            found.pop(name, None)
    return found


def as_logged(facts: Facts) -> Mapping[str, object]:
    """Facts as the log keeps them."""
    return {name: list(v) if isinstance(v, tuple) else v for name, v in facts.items()}
