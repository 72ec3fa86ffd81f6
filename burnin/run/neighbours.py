"""Runs on other cards of the bench: where one shares a link with this card, that is named.

Cards behind one bridge share its link to the processor: what one moves, the other cannot. Errors
are counted at the ends of each card's own link and are no neighbour's.
"""

from __future__ import annotations

from burnin.card.capabilities import Card
from burnin.core.events import Event, Noted, Publish, StageStarted
from burnin.core.reading import NotMeasured
from burnin.run.card_lock import holder_of
from burnin.run.reasons import RunNote


def sharing_a_link(card: Card) -> tuple[str, ...]:
    """Addresses of devices that share the link of a bridge with the card; mostly none."""
    position = card.position()
    return () if isinstance(position, NotMeasured) else position.behind_bridge


class Neighbours:
    """Stands before a run's `publish`: at each stage's start, says who else works beside it."""

    def __init__(self, shared: tuple[str, ...], publish: Publish) -> None:
        self._shared, self._publish = shared, publish
        self._told: set[tuple[str, int]] = set()

    def publish(self, event: Event) -> None:
        """Hand an event on."""
        self._publish(event)
        if isinstance(event, StageStarted):
            self._look(event.stage)

    def _look(self, stage: str) -> None:
        for address in self._shared:
            holder = holder_of(address)
            if holder is None or (address, holder.pid) in self._told:
                continue
            self._told.add((address, holder.pid))
            note = RunNote.NEIGHBOUR_WORKS(address=address, user=holder.user, pid=holder.pid)
            self._publish(Noted(stage, note))
