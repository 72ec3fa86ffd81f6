"""Readings of how the link trained: width and speed, against the lesser of card, slot and profile.

Width is judged always; speed only under traffic, because cards lower it when idle (law 9).
"""

from __future__ import annotations

from collections.abc import Iterator

from burnin.card.capabilities import Link, LinkEnd
from burnin.card.rates import GENERATIONS
from burnin.core.meaning import Reason, distinct
from burnin.core.reading import Limit, NotMeasured, Reading, judge, known, not_measured
from burnin.stages.link.ends_seen import EndsSeen
from burnin.stages.link.meanings import LinkReason, LinkSource
from burnin.stages.link.settings import LinkCheck


def idle_readings(link: Link) -> Iterator[Reading]:
    """Width and speed at rest, judged by nothing."""
    end = link.card
    width = end.width_lanes
    yield judge(
        "link_width_idle_lanes",
        width if isinstance(width, NotMeasured) else float(width),
        "lanes",
        None,
        source=end.source,
        required=False,
    )
    yield judge(
        "link_speed_idle_gts", end.speed_gts, "GT/s", None, source=end.source, required=False
    )


def full_link_readings(link: Link, settings: LinkCheck) -> Iterator[Reading]:
    """Where card or slot offer less than the profile, the rest is named as not shown."""
    width, speed = _most(link)
    want_lanes, want_gts = settings.width_lanes, GENERATIONS[settings.generation].speed_gts
    if width is None or speed is None:
        yield not_measured("full_link_shown", "", _most_unknown(link))
        return
    lanes = speed_gts = None
    if width[0] < want_lanes:
        by = LinkReason.LANES_OF_CARD if width[1] == "card" else LinkReason.LANES_OF_SLOT
        lanes = by(expected_lanes=want_lanes, offered_lanes=width[0])
    if speed[0] < want_gts:
        by = LinkReason.SPEED_OF_CARD if speed[1] == "card" else LinkReason.SPEED_OF_SLOT
        speed_gts = by(expected_gts=want_gts, offered_gts=speed[0])
    if lanes is not None and speed_gts is not None:
        both = LinkReason.NEITHER_SHOWN_HERE(lanes=lanes, speed=speed_gts)
        yield not_measured("full_link_shown", "", both)
    elif lanes is not None or speed_gts is not None:
        missing = LinkReason.NOT_SHOWN_HERE(missing=lanes or speed_gts)
        yield not_measured("full_link_shown", "", missing)


def loaded_readings(
    link: Link, settings: LinkCheck, seen: EndsSeen, no_traffic: Reason | None
) -> Iterator[Reading]:
    """The least width and speed under traffic; `no_traffic` says why there was none."""
    most_width, most_speed = _most(link)
    want_lanes = float(settings.width_lanes)
    want_gts = GENERATIONS[settings.generation].speed_gts
    if most_width is not None:
        want_lanes = min(want_lanes, most_width[0])
    if most_speed is not None:
        want_gts = min(want_gts, most_speed[0])
    lanes = _least_lanes(link, seen)
    yield judge(
        "link_width_lanes",
        lanes,
        "lanes",
        Limit(lower=want_lanes),
        source=link.card.source,
        why_fail=LinkReason.NARROW(lanes=known(lanes), expected_lanes=want_lanes),
    )
    speed = _least_speed(link, seen, no_traffic)
    yield judge(
        "link_speed_gts",
        speed,
        "GT/s",
        Limit(lower=want_gts),
        source=link.card.source,
        why_fail=LinkReason.SLOW(speed_gts=known(speed), expected_gts=want_gts),
    )


def lane_readings(seen: EndsSeen) -> Iterator[Reading]:
    """Lanes whose error bit rose in this stage; only such a register names a lane (law 12)."""
    found = seen.lanes_risen()
    read = {end: lanes for end, lanes in found.items() if not isinstance(lanes, NotMeasured)}
    if not read:
        why = distinct([lanes.reason for lanes in found.values() if isinstance(lanes, NotMeasured)])
        unread = LinkReason.LANE_STATUS_UNREAD(reasons=why)
        yield not_measured("lanes_with_new_errors", "", unread, required=False)
        return
    at = {"card": LinkReason.LANE_AT_CARD, "port": LinkReason.LANE_AT_PORT}
    risen = tuple(at[end](lane=lane) for end, lanes in read.items() for lane in lanes)
    yield judge(
        "lanes_with_new_errors",
        float(len(risen)),
        "",
        Limit(0, 0),
        source=LinkSource.LANE_STATUS(),
        required=False,
        why_fail=LinkReason.LANES_ROSE(lanes=risen),
    )


def _most_unknown(link: Link) -> Reason:
    end = link.card
    untold = [
        value.reason
        for value in (end.max_width_lanes, end.max_speed_gts)
        if isinstance(value, NotMeasured)
    ]
    return LinkReason.MOST_UNKNOWN(reasons=distinct(untold))


def _most(link: Link) -> tuple[tuple[float, str] | None, tuple[float, str] | None]:
    """The most lanes and GT/s that card and slot offer together, and who sets each bound."""
    ends: list[tuple[str, LinkEnd]] = [("card", link.card)]
    if not isinstance(link.port, NotMeasured):
        ends.append(("slot", link.port))
    widths = [(float(w), who) for who, e in ends if (w := known(e.max_width_lanes)) is not None]
    speeds = [(s, who) for who, e in ends if (s := known(e.max_speed_gts)) is not None]
    return min(widths, default=None), min(speeds, default=None)


def _least_lanes(link: Link, seen: EndsSeen) -> float | NotMeasured:
    if seen.card_end.widths_seen_lanes:
        return float(min(seen.card_end.widths_seen_lanes))
    now = link.card.width_lanes
    return now if isinstance(now, NotMeasured) else float(now)


def _least_speed(
    link: Link, seen: EndsSeen, no_traffic: Reason | None
) -> float | NotMeasured:
    if no_traffic is not None:
        return NotMeasured(LinkReason.SPEED_NEEDS_TRAFFIC(reason=no_traffic))
    if seen.card_end.speeds_seen_gts:
        return min(seen.card_end.speeds_seen_gts)
    now = link.card.speed_gts
    if isinstance(now, NotMeasured):
        return now
    return NotMeasured(LinkReason.TRAFFIC_TOO_SHORT())
