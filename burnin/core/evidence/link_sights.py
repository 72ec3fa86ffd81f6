"""Sights of a link: what its ends, its lanes and the card's repaired contacts tell."""

from __future__ import annotations

from collections.abc import Iterator

from burnin.core.evidence.seen import LinkSeen, PadSeen, Seen
from burnin.core.parties import Sight
from burnin.core.reading import Reading

_MANY_LANES = 3
_LOWEST_GTS = 2.5
_TWO_RATES_UP_GTS = 8.0
WIDTH = ("link_width_lanes", "whole_run_width_lanes", "failed_starts")
SPEED = ("link_speed_gts", "whole_run_speed_gts")
_SHAPE = (*WIDTH[:2], *SPEED)
ERRORS = (
    *("new_link_errors", "uncorrected_link_errors", "lanes_with_new_errors"),
    *("error_rate_per_lane", "link_errors"),
    *("whole_run_errors_in_traffic", "whole_run_errors_beside_traffic"),
    "whole_run_uncorrected_errors",
)
LINK = (*WIDTH, *SPEED, *ERRORS)
"""Readings that speak of the link, by their names."""


def link_sights(head: str, reading: Reading, link: LinkSeen) -> Iterator[Sight]:
    """What the two ends of the link told."""
    speed = head in SPEED
    lower = reading.limit.lower if reading.limit is not None else None
    if speed and lower is not None and link.target_gts is not None and link.target_gts < lower:
        yield Sight.HELD_BY_PORT
    if speed and at_lowest_rate(reading, link):
        yield Sight.AT_LOWEST_RATE
    if speed and link.lowered_by_system:
        yield Sight.LOWERED_BY_SYSTEM
    most = link.most_gts if speed else link.most_lanes
    if head in _SHAPE and lower is not None and most is not None:
        yield Sight.FULL_BEFORE if most >= lower else Sight.LOW_FROM_THE_START
    if link.fell_warm:
        yield Sight.WARM_ONLY
    yield from _errors_by_end(head, link, speed=speed)
    yield from _lanes_told(link)
    parted = isinstance(reading.value, int | float) and lower is not None
    if head in WIDTH and link.beside and parted and not _ends(link):
        yield Sight.NEIGHBOUR_ON_PORT


def at_lowest_rate(reading: Reading, link: LinkSeen) -> bool:
    """Whether a link stays straight at the lowest rate, two rates or more down, without a sign.

    A link that fails to carry its rate falls back one rate at a time, and tells errors or that it
    trained anew (PCI Express Base 5.0, 4.2.6.2 and 7.5.3.8). One that is at 2.5 GT/s and tells
    nothing of either was put there: by the host's power saving or set-up, which no proof of a slot
    holds for the next day.
    """
    asked = reading.limit.lower if reading.limit is not None else None
    if not isinstance(reading.value, int | float) or asked is None or asked < _TWO_RATES_UP_GTS:
        return False
    fell = link.most_gts is not None and link.most_gts > _LOWEST_GTS
    silent = bool(link.errors) and not _ends(link) and not link.retrained
    return reading.value <= _LOWEST_GTS and silent and not fell


def poor_channel(link: LinkSeen) -> bool:
    """Whether errors came both ways on many lanes: no contact of a card or slot makes them."""
    return len(_ends(link)) > 1 and len(_lanes(link)) >= _MANY_LANES


def _lanes_told(link: LinkSeen) -> Iterator[Sight]:
    """On how many lanes errors showed; a link of one lane has them there whatever the cause."""
    lanes, ends = _lanes(link), _ends(link)
    if len(lanes) == 1 and (link.most_lanes is None or link.most_lanes > 1.0):
        yield Sight.ONE_LANE
    elif len(lanes) >= _MANY_LANES and ends == {"port"}:
        yield Sight.MANY_LANES_AT_PORT
    elif len(lanes) >= _MANY_LANES and ends == {"card"}:
        yield Sight.MANY_LANES_AT_CARD
    elif len(lanes) >= _MANY_LANES:
        yield Sight.MANY_LANES


def _errors_by_end(head: str, link: LinkSeen, *, speed: bool) -> Iterator[Sight]:
    at = _ends(link)
    if at == {"card", "port"}:
        yield Sight.ERRORS_AT_BOTH_ENDS
    elif at == {"card"}:
        yield Sight.ERRORS_AT_CARD
    elif at == {"port"}:
        yield Sight.ERRORS_AT_PORT
    elif link.errors and head in _SHAPE:
        yield Sight.CLEAN_BUT_SLOW if speed else Sight.NO_ERRORS


def _ends(link: LinkSeen) -> set[str]:
    """The ends at which errors arrived.

    Where no packet was damaged, receivers tell; but a change of speed makes them count one or two
    as well, so that only more than chance gives does.
    """
    at = {end for end, count in link.errors.items() if count}
    at |= {end for end, lanes in link.lanes.items() if lanes}
    return at or set(link.beyond_chance)


def _lanes(link: LinkSeen) -> set[int]:
    return {lane for found in link.lanes.values() for lane in found}


def pad_sights(head: str, reading: Reading, seen: Seen) -> Iterator[Sight]:
    """What the meter said of the repaired contacts that could cause this failure."""
    pads = [pad for pad in seen.pads if _could_cause(pad, head, reading, seen.link)]
    if any(not pad.good for pad in pads):
        yield Sight.PADS_BAD
    elif pads:
        yield Sight.PADS_GOOD


def _could_cause(pad: PadSeen, head: str, reading: Reading, link: LinkSeen) -> bool:
    """A lane narrows a link to no less than itself, and errors show on their own lane.

    Lanes are dropped from the highest on (PCI Express Base 5.0, 4.2.4.8): a link of eight lanes
    has a fault in lane 8 or above. Reversed lanes are left out of account.
    """
    if head == "card_never_showed":
        return pad.lane in (None, 0)  # reset, clock, power and the first lane: all cards need them
    if head not in LINK:
        return True
    if pad.carries != "link":
        return False
    if pad.lane is None:
        return True
    if head in WIDTH and isinstance(reading.value, int | float) and reading.unit == "lanes":
        return pad.lane >= reading.value
    lanes = _lanes(link)
    return not lanes or pad.lane in lanes
