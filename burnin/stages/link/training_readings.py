"""Readings of how the link trained: width and speed, against what may be expected here.

Width is judged always; speed only under traffic, because cards lower it when idle (law 9).
"""

from __future__ import annotations

from collections.abc import Iterator

from burnin.card.capabilities import Link
from burnin.core.meaning import Reason
from burnin.core.reading import (
    Limit,
    NotMeasured,
    Reading,
    judge,
    judge_text,
    known,
    not_measured,
)
from burnin.stages.link.ends_seen import EndsSeen
from burnin.stages.link.expectation import LinkExpected, Surroundings
from burnin.stages.link.meanings import LinkReason, LinkSource


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


def slot_readings(link: Link, around: Surroundings) -> Iterator[Reading]:
    """The slot's port, and the rate at which the host's set-up lets it run; judged by nothing.

    Where that rate is not told, a hold by the set-up is not ruled out.
    """
    position = around.position
    port = position if isinstance(position, NotMeasured) else position.port.address
    yield judge_text("slot_port", port, None, required=False)
    if not isinstance(link.port, NotMeasured):
        yield judge(
            "port_target_speed_gts",
            around.held_gts,
            "GT/s",
            None,
            source=LinkSource.PORT_TARGET(),
            required=False,
        )


def full_link_readings(expected: LinkExpected) -> Iterator[Reading]:
    """Where card, slot or set-up offer less than the profile, the rest is named as not shown."""
    lanes, speed = expected.lanes_short, expected.speed_short
    if expected.unknown is not None:
        yield not_measured("full_link_shown", "", expected.unknown)
    elif lanes is not None and speed is not None:
        both = LinkReason.NEITHER_SHOWN_HERE(lanes=lanes, speed=speed)
        yield not_measured("full_link_shown", "", both)
    elif lanes is not None or speed is not None:
        missing = LinkReason.NOT_SHOWN_HERE(missing=lanes or speed)
        yield not_measured("full_link_shown", "", missing)


def loaded_readings(
    link: Link, expected: LinkExpected, seen: EndsSeen, no_traffic: Reason | None
) -> Iterator[Reading]:
    """The least width and speed under traffic; `no_traffic` says why there was none."""
    lanes = _least_lanes(link, seen)
    yield judge(
        "link_width_lanes",
        lanes,
        "lanes",
        Limit(lower=expected.lanes),
        source=link.card.source,
        why_fail=LinkReason.NARROW(lanes=known(lanes), expected_lanes=expected.lanes),
    )
    speed = _least_speed(link, seen, no_traffic)
    yield judge(
        "link_speed_gts",
        speed,
        "GT/s",
        Limit(lower=expected.speed_gts),
        source=link.card.source,
        why_fail=LinkReason.SLOW(speed_gts=known(speed), expected_gts=expected.speed_gts),
    )


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
