"""What both ends of the link showed while a stage looked: settled rates, width, lane errors."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

from burnin.card.capabilities import (
    CountsErrors,
    HasConfigurationSpace,
    LinkEnd,
    ReportsLink,
    TellsPosition,
)
from burnin.core.meaning import Note
from burnin.core.reading import NotMeasured, known
from burnin.stages.link.meanings import LinkNote

SETTLE_S = 1.5
"""A card that lowered its link speed when idle needs a moment to raise it again."""


class Needs(HasConfigurationSpace, ReportsLink, CountsErrors, TellsPosition, Protocol):
    """What the link check asks of a card."""


@dataclass(frozen=True)
class StickyBits:
    """Registers of one end that hold on to what they saw: only changes speak of a run."""

    lane_errors: tuple[int, ...] | NotMeasured
    bandwidth_managed: bool | None = None
    bandwidth_autonomous: bool | None = None
    target_speed_gts: float | None = None


@dataclass
class EndSeen:
    """One end: what it offers, what it showed idle, and every value under traffic, once each."""

    width_idle_lanes: int | None
    speed_idle_gts: float | None
    before: StickyBits
    widths_seen_lanes: list[int] = field(default_factory=list)
    speeds_seen_gts: list[float] = field(default_factory=list)

    def add(self, end: LinkEnd, since_s: float) -> None:
        """Take in what the end shows `since_s` after the traffic began."""
        width, speed = known(end.width_lanes), known(end.speed_gts)
        if width is not None and width not in self.widths_seen_lanes:
            self.widths_seen_lanes.append(width)
        if speed is not None and since_s >= SETTLE_S and speed not in self.speeds_seen_gts:
            self.speeds_seen_gts.append(speed)

    def told(self, end: LinkEnd, after: StickyBits) -> Note:
        """All of it; `end` and `after` as they are now."""
        return LinkNote.END(
            max_width_lanes=known(end.max_width_lanes),
            max_speed_gts=known(end.max_speed_gts),
            width_idle_lanes=self.width_idle_lanes,
            speed_idle_gts=self.speed_idle_gts,
            widths_seen_lanes=tuple(self.widths_seen_lanes),
            speeds_seen_gts=tuple(self.speeds_seen_gts),
            lane_errors_before=known(self.before.lane_errors),
            lane_errors_after=known(after.lane_errors),
            bandwidth_managed_before=self.before.bandwidth_managed,
            bandwidth_managed_after=after.bandwidth_managed,
            bandwidth_autonomous_after=after.bandwidth_autonomous,
            target_speed_gts=after.target_speed_gts,
        )


class EndsSeen:
    """Collects what both ends show, from before the traffic to after it."""

    def __init__(self, card: Needs) -> None:
        link = card.link()
        self._card = card
        self.idle = link
        self.card_end = self._begin("card", link.card)
        port = known(link.port)
        self.port_end = None if port is None else self._begin("port", port)

    def _begin(self, name: str, end: LinkEnd) -> EndSeen:
        before = sticky_bits(self._card, name)
        return EndSeen(known(end.width_lanes), known(end.speed_gts), before)

    def add(self, since_s: float) -> None:
        """Look once, `since_s` after the traffic began."""
        link = self._card.link()
        self.card_end.add(link.card, since_s)
        port = known(link.port)
        if port is not None and self.port_end is not None:
            self.port_end.add(port, since_s)

    def told(self) -> Note:
        """All of it as one line of the journal."""
        link = self._card.link()
        port = known(link.port)
        return LinkNote.BOTH_ENDS(
            card=self.card_end.told(link.card, sticky_bits(self._card, "card")),
            port=None
            if port is None or self.port_end is None
            else self.port_end.told(port, sticky_bits(self._card, "port")),
        )

    def lanes_risen(self) -> dict[str, tuple[int, ...] | NotMeasured]:
        """Lanes whose error bit rose since the beginning, by end, or why nobody can say."""
        risen: dict[str, tuple[int, ...] | NotMeasured] = {}
        for name, end in (("card", self.card_end), ("port", self.port_end)):
            if end is None:
                continue
            before, after = end.before.lane_errors, sticky_bits(self._card, name).lane_errors
            if isinstance(before, NotMeasured):
                risen[name] = before
            elif isinstance(after, NotMeasured):
                risen[name] = after
            else:
                risen[name] = tuple(lane for lane in after if lane not in before)
        return risen


def sticky_bits(card: HasConfigurationSpace, end: str) -> StickyBits:
    """Lane error status and bandwidth bits of one end, ``card`` or ``port``."""
    space = card.configuration_space_at(end)
    if isinstance(space, NotMeasured):
        return StickyBits(space)
    lanes = space.lane_errors()
    registers = known(space.link())
    if registers is None:
        return StickyBits(lanes)
    return StickyBits(
        lanes,
        registers.bandwidth_managed,
        registers.bandwidth_autonomous,
        known(registers.target_speed_gts),
    )
