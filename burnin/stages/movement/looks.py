"""What happens to card, link and screens from one look to the next; each as an event."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Protocol

from burnin.card.capabilities import (
    Counter,
    CountsErrors,
    DetectsDisplays,
    Link,
    ReportsLink,
)
from burnin.card.rates import generation_of_speed
from burnin.core.exact_intervals import poisson_lower
from burnin.core.meaning import Reason, Term
from burnin.core.reading import NotMeasured, known
from burnin.stages.counters import difference, errors_by_direction, rises, uncorrected
from burnin.stages.link.ends_seen import SETTLE_S
from burnin.stages.link.error_readings import SPECIFIED_RATE
from burnin.stages.movement.meanings import MovementEvent

_SEVERAL = 3
"""So many screens in one moment are no accident of single ones (common practice, no source)."""


class Needs(ReportsLink, CountsErrors, DetectsDisplays, Protocol):
    """What is watched while a card is moved."""


class Looks:
    """Remembers what the last look showed; screens are those that were there at the beginning."""

    def __init__(self, card: Needs, now_s: Callable[[], float]) -> None:
        self._card, self._now_s = card, now_s
        self._traffic_s: float | None = None
        self._lanes: int | None = None
        self._gts: float | None = None
        self._there = True
        outputs = card.outputs()
        self.outputs_unread = outputs.reason if isinstance(outputs, NotMeasured) else None
        self._status = {
            output.name: True
            for output in known(outputs) or ()
            if output.status == "connected" and not output.forced
        }
        self.unread: Reason | None = None

    @property
    def screens(self) -> tuple[str, ...]:
        """Outputs on which a screen was detected at the beginning."""
        return tuple(self._status)

    def look(self) -> Iterator[Term]:
        """What has happened at the link since the last look; `unread`: why it told nothing."""
        if not self._there:
            return
        yield from self._at_link(self._card.link())

    def traffic_began(self) -> None:
        """From now on there is traffic: a link that slows down does so for another reason."""
        self._traffic_s = self._now_s()

    def presence(self, there: bool) -> Iterator[Term]:
        """Whether the card is there, as the sample at hand or the end of the work tells it."""
        if self._there and not there:
            yield MovementEvent.CARD_GONE()
        self._there = there

    def _at_link(self, link: Link) -> Iterator[Term]:
        end = link.card
        lanes = end.width_lanes
        if isinstance(lanes, NotMeasured):
            self.unread = lanes.reason
            return
        self.unread = None
        before = self._lanes
        self._lanes = lanes
        if before is not None and lanes < before:
            yield (
                MovementEvent.LINK_NARROWER(from_lanes=before, to_lanes=lanes)
                if lanes
                else MovementEvent.LINK_DOWN()
            )
        gts = known(end.speed_gts)
        # An idle card runs slow, and needs a moment under traffic to run fast.
        if gts is None or self._traffic_s is None or self._now_s() - self._traffic_s < SETTLE_S:
            return
        was, self._gts = self._gts, gts
        if was is not None and gts < was:
            yield MovementEvent.LINK_SLOWER(from_gts=was, to_gts=gts)

    def screens_lost(self) -> Iterator[Term]:
        """Screens that went since they were last looked at: the kernel lets them settle itself."""
        if not self._there:
            return
        outputs = self._card.outputs()
        if isinstance(outputs, NotMeasured):
            return
        now = {output.name: output.status == "connected" for output in outputs}
        before = [name for name, was in self._status.items() if was]
        self._status = {name: now.get(name, False) for name in self._status}
        lost = tuple(name for name in before if not self._status[name])
        # Plugs and monitors do not part in one moment; what all of them share does.
        if len(lost) > 1 and (len(lost) == len(before) or len(lost) >= _SEVERAL):
            yield MovementEvent.SCREENS_LOST_TOGETHER(outputs=lost)
            return
        for name in lost:
            yield MovementEvent.SCREEN_LOST(output=name)

    def errors_since(
        self, before: tuple[Counter, ...] | NotMeasured, since_s: float
    ) -> Iterator[Term]:
        """Errors of the link, where they are more than its traffic would bring by chance.

        The bits are the most that the link can have carried: so many errors were let off at most.
        """
        after = self._card.error_counters()
        if isinstance(before, NotMeasured) or isinstance(after, NotMeasured):
            return
        errors = difference(before, after).errors
        ways = [known(way) for way in errors_by_direction(errors).values()]
        fewest = max((way.at_least for way in ways if way is not None), default=0)
        if any(uncorrected(errors).values()) or poisson_lower(fewest) > self._allowed(since_s):
            yield MovementEvent.LINK_ERRORS(errors=rises(errors))

    def _allowed(self, seconds: float) -> float:
        gts, lanes = self._gts or 0.0, self._lanes or 0
        if known(generation_of_speed(gts)) is None:
            return 0.0
        return gts * 1e9 * lanes * seconds * SPECIFIED_RATE
