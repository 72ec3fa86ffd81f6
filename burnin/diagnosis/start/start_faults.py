"""What may keep a card from starting, or rob its rails: each single fault, its course and weight.

Weights are beliefs about a bench that repairs edge connectors, in cards of a thousand (estimate);
`NOTHING` among them. What a contact carries comes from the contact maps, which name their sources.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations

from burnin.connector.contact_map import PRESENCE_END, contacts
from burnin.connector.other_connectors import PlugContact, connectors
from burnin.diagnosis.point_state import RAILS, PointState, group_of


class StartPlace(StrEnum):
    """Where such a fault sits."""

    NOTHING = "nothing"
    CLOCK = "clock"
    RESET = "reset"
    PRESENCE = "presence"
    GROUND = "ground"
    LANE_ZERO = "lane 0"
    SUPPLY_CONTACT = "supply contact"
    SENSE_LINE = "sense line"
    RAIL_SHORT = "rail short"
    SUPPLY_UNIT = "supply unit"
    POWER_PATH = "power path"
    JOINT = "joint"
    SEATING = "seating"
    ELSE = "something else"


class Course(StrEnum):
    """What a card does: stays, never comes up, comes up at times, leaves, or hangs and comes up
    at times."""

    STAYS = "stays"
    ABSENT = "absent"
    FLAKY = "flaky"
    LOST = "lost"
    HANGS = "hangs"


@dataclass(frozen=True)
class StartFault:
    """One fault: the points it concerns (contacts, or a rail), its course, and what a meter says
    at each of those points if all goes as expected."""

    place: StartPlace
    points: tuple[str, ...]
    course: Course
    meter: PointState
    weight: float


NOTHING = StartFault(StartPlace.NOTHING, (), Course.STAYS, "alike", 420.0)
_SUPPLY_EDGE, _SUPPLY_PLUG, _BOTH_SHARE = 50.0, 80.0, 0.4
"""Weight of all supply contacts of the edge and of a plug; the share of two at once."""
_SENSE_ABSENT, _SENSE_STAYS = 35.0, 68.0
_EDGE_SHARE = {16: 0.85, 8: 0.12, 4: 0.02, 1: 0.01}
"""How many cards have an edge of that many lanes, where nothing tells."""


def start_faults(
    plug: str | None, edge_lanes: int | None, measured: Sequence[str] = ()
) -> tuple[StartFault, ...]:
    """Every fault that is thought of.

    `plug`: the card's power plug (6pin, 8pin, 12v2x6), empty for none, None where nothing tells;
    `edge_lanes`: width of its edge in lanes, None likewise; grounds count where they were measured.
    """
    return tuple(_faults(plug, edge_lanes, measured))


def _faults(
    plug: str | None, edge_lanes: int | None, measured: Sequence[str]
) -> Iterator[StartFault]:
    yield NOTHING
    yield from _signals()
    yield from _presence(edge_lanes)
    yield from _lane_zero()
    for rail in RAILS:
        yield StartFault(StartPlace.RAIL_SHORT, (rail,), Course.ABSENT, "low", 38.0)
    edge = [c.name for c in contacts().values() if c.group == "power_12v"]
    low = [c.name for c in contacts().values() if c.group == "power_3v3"]
    whole = len(edge) + len(low)
    yield from _supply(edge, _SUPPLY_EDGE * len(edge) / whole)
    yield from _supply(low, _SUPPLY_EDGE * len(low) / whole)
    if plug:
        fed = [c.name for c in connectors()[plug].contacts if c.group == "power_12v"]
        yield from _supply(fed, _SUPPLY_PLUG)
    yield from _sense(plug)
    for point in measured:
        if group_of(point) == "ground":
            yield StartFault(StartPlace.GROUND, (point,), Course.STAYS, "open", 0.5)
            yield StartFault(StartPlace.GROUND, (point,), Course.STAYS, "off", 0.5)
    yield from _elsewhere()


def _signals() -> Iterator[StartFault]:
    """Clock and reset: a contact that is open or shorted stops the card, a poor one at times."""
    for name in ("A13", "A14"):
        yield StartFault(StartPlace.CLOCK, (name,), Course.ABSENT, "open", 37.0)
        yield StartFault(StartPlace.CLOCK, (name,), Course.ABSENT, "low", 4.5)
        yield StartFault(StartPlace.CLOCK, (name,), Course.FLAKY, "alike", 17.0)
    yield StartFault(StartPlace.RESET, ("A11",), Course.ABSENT, "open", 68.0)
    yield StartFault(StartPlace.RESET, ("A11",), Course.ABSENT, "low", 26.0)
    yield StartFault(StartPlace.RESET, ("A11",), Course.FLAKY, "alike", 29.0)


def _presence(edge_lanes: int | None) -> Iterator[StartFault]:
    """The two short fingers that the card ties together; some boards start without them."""
    shares = {edge_lanes: 1.0} if edge_lanes in PRESENCE_END else _EDGE_SHARE
    ends = [("A1", 1.0), *((PRESENCE_END[lanes], part) for lanes, part in shares.items() if lanes)]
    for name, share in ends:
        yield StartFault(StartPlace.PRESENCE, (name,), Course.ABSENT, "open", 56.0 * share)
        yield StartFault(StartPlace.PRESENCE, (name,), Course.STAYS, "open", 16.0 * share)


def _lane_zero() -> Iterator[StartFault]:
    """Without lane 0 most hosts train nothing (PCI Express Base Specification, 4.2.4: a link is
    numbered from lane 0, or from the last lane where the port can reverse)."""
    for contact in contacts().values():
        if contact.lane == 0:
            yield StartFault(StartPlace.LANE_ZERO, (contact.name,), Course.ABSENT, "open", 8.0)
            # Behind a coupling capacitor the edge measures as it should (side A, to the card).
            alike = 5.0 if contact.group == "lane_tx" else 1.0
            yield StartFault(StartPlace.LANE_ZERO, (contact.name,), Course.ABSENT, "alike", alike)


def _supply(names: Sequence[str], weight: float) -> Iterator[StartFault]:
    """One contact of a rail, or two of it; the others carry its current, so that the card runs."""
    pairs = list(combinations(names, 2))
    for group, share in (([(n,) for n in names], 1.0 - _BOTH_SHARE), (pairs, _BOTH_SHARE)):
        for points in group:
            each = weight * share / len(group)
            yield StartFault(StartPlace.SUPPLY_CONTACT, points, Course.STAYS, "open", 0.67 * each)
            yield StartFault(StartPlace.SUPPLY_CONTACT, points, Course.STAYS, "off", 0.33 * each)
            yield StartFault(StartPlace.SUPPLY_CONTACT, points, Course.LOST, "open", 0.02 * each)


def sense_lines(plug: str) -> tuple[PlugContact, ...]:
    """The sense contacts of a plug."""
    return tuple(c for c in connectors()[plug].contacts if c.group == "sense")


def _sense(plug: str | None) -> Iterator[StartFault]:
    """A card that reads no plug, or a weaker one, does not start or draws less. Where nothing tells
    of a plug, its line has no name."""
    points: list[tuple[str, ...]] = [()]
    if plug is not None:
        points = [(c.name,) for c in sense_lines(plug)] if plug else []
    for at in points:
        for course, weight in ((Course.ABSENT, _SENSE_ABSENT), (Course.STAYS, _SENSE_STAYS)):
            yield StartFault(StartPlace.SENSE_LINE, at, course, "open", weight / len(points))


def _elsewhere() -> Iterator[StartFault]:
    """Faults that no meter at edge and plug finds."""
    for place, course, weight in (
        (StartPlace.SEATING, Course.ABSENT, 8.0),
        (StartPlace.SEATING, Course.FLAKY, 6.0),
        (StartPlace.POWER_PATH, Course.ABSENT, 4.0),
        (StartPlace.POWER_PATH, Course.LOST, 16.0),
        (StartPlace.JOINT, Course.LOST, 16.0),
        (StartPlace.SUPPLY_UNIT, Course.LOST, 5.0),
        (StartPlace.ELSE, Course.ABSENT, 27.0),
        (StartPlace.ELSE, Course.HANGS, 42.0),
        (StartPlace.ELSE, Course.STAYS, 4.0),
    ):
        yield StartFault(place, (), course, "alike", weight)
