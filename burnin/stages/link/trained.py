"""What both ends of the link showed while a stage looked: rates, widths, lane error status."""

from __future__ import annotations

from dataclasses import dataclass, field

from burnin.card.card import Card, LinkEnd
from burnin.core.reading import NotMeasured, known

SETTLE_S = 1.5
"""A card that lowered its link speed when idle needs a moment to raise it again."""


@dataclass
class EndSeen:
    """One end: what it offers, what it showed idle, and every value under traffic, once each."""

    width_idle_lanes: int | None
    speed_idle_gts: float | None
    widths_seen_lanes: list[int] = field(default_factory=list)
    speeds_seen_gts: list[float] = field(default_factory=list)

    def add(self, end: LinkEnd, since_s: float) -> None:
        """Take in what the end shows `since_s` after the traffic began."""
        width, speed = known(end.width_lanes), known(end.speed_gts)
        if width is not None and width not in self.widths_seen_lanes:
            self.widths_seen_lanes.append(width)
        if speed is not None and since_s >= SETTLE_S and speed not in self.speeds_seen_gts:
            self.speeds_seen_gts.append(speed)


class LinkSeen:
    """Collects what both ends show, from before the traffic to after it."""

    def __init__(self, card: Card) -> None:
        link = card.link()
        self._card = card
        self.idle = link
        self.card_end = EndSeen(known(link.card.width_lanes), known(link.card.speed_gts))
        port = known(link.port)
        self.port_end = (
            None if port is None else EndSeen(known(port.width_lanes), known(port.speed_gts))
        )
        self._before = {end: _registers(card, end) for end in ("card", "port")}

    def add(self, since_s: float) -> None:
        """Look once, `since_s` after the traffic began."""
        link = self._card.link()
        self.card_end.add(link.card, since_s)
        port = known(link.port)
        if port is not None and self.port_end is not None:
            self.port_end.add(port, since_s)

    def told(self) -> dict[str, object]:
        """All of it as one line of the journal; None stands for what could not be read."""
        link = self._card.link()
        ends: dict[str, object] = {"card": self._end("card", link.card, self.card_end)}
        port = known(link.port)
        ends["port"] = (
            None
            if port is None or self.port_end is None
            else self._end("port", port, self.port_end)
        )
        return ends

    def _end(self, name: str, end: LinkEnd, seen: EndSeen) -> dict[str, object]:
        before, after = self._before[name], _registers(self._card, name)
        return {
            "max_width_lanes": known(end.max_width_lanes),
            "max_speed_gts": known(end.max_speed_gts),
            "width_idle_lanes": seen.width_idle_lanes,
            "speed_idle_gts": seen.speed_idle_gts,
            "widths_seen_lanes": seen.widths_seen_lanes,
            "speeds_seen_gts": seen.speeds_seen_gts,
            "lane_errors_before": before["lane_errors"],
            "lane_errors_after": after["lane_errors"],
            "bandwidth_managed_before": before["bandwidth_managed"],
            "bandwidth_managed_after": after["bandwidth_managed"],
            "bandwidth_autonomous_after": after["bandwidth_autonomous"],
            "target_speed_gts": after["target_speed_gts"],
        }


def _registers(card: Card, end: str) -> dict[str, object]:
    """Lane error status and bandwidth bits of one end (sticky: only changes speak of a run)."""
    told: dict[str, object] = {
        "lane_errors": None,
        "bandwidth_managed": None,
        "bandwidth_autonomous": None,
        "target_speed_gts": None,
    }
    space = card.configuration_space_at(end)
    if isinstance(space, NotMeasured):
        return told
    lanes = space.lane_errors()
    if not isinstance(lanes, NotMeasured):
        told["lane_errors"] = list(lanes)
    registers = space.link()
    if not isinstance(registers, NotMeasured):
        told["bandwidth_managed"] = registers.bandwidth_managed
        told["bandwidth_autonomous"] = registers.bandwidth_autonomous
        told["target_speed_gts"] = known(registers.target_speed_gts)
    return told
