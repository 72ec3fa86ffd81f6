"""The hypotheses: every single fault that is thought of, its effects, and its prior weight.

A weight is relative to that of one lane contact of the card's edge, which is 1. Weights are
beliefs about a bench that repairs edge connectors; the ticket's damage list raises its contacts.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from burnin.connector.contact_map import Contact, contacts, on_connector, twin
from burnin.diagnosis.effects import (
    ABSENT,
    FLAKY,
    LOST,
    SILENT,
    Effect,
    Shares,
    Side,
    at_times,
    dead,
    mixed,
    open_leg,
    resistive_leg,
)


class Where(StrEnum):
    """Where a fault sits."""

    CONTACT = "contact"
    PAIR = "pair"
    CAPACITOR = "capacitor"
    SLOT_CONTACT = "slot contact"
    RISER = "riser"
    SLOT_WIRING = "slot wiring"
    HOST_SPEED = "host speed"
    POWER_SAVING = "power saving"
    POWER_PATH = "power path"
    JOINT = "joint"
    SEATING = "seating"
    UNKNOWN = "something else"


_LANE_SIDE: dict[str, Side] = {"lane_rx": "B", "lane_tx": "A"}
_EDGE_WIDTHS = (1, 4, 8, 16)


@dataclass(frozen=True, eq=False)
class Fault:
    """One hypothesis of a single fault: where it sits, which edge contacts it concerns."""

    name: str
    where: Where
    contacts: frozenset[str]
    shares: Shares
    weight: float

    @property
    def at(self) -> str:
        """Its contacts as they are named together: ``B54``, ``B54+B55``; empty for none."""
        return "+".join(sorted(self.contacts, key=contact_order))


ELSEWHERE = Fault(Where.UNKNOWN, Where.UNKNOWN, frozenset(), {}, 0.0)
"""What no model holds, as a hypothesis: it has no effects to reckon with."""


def contact_order(name: str) -> tuple[str, int]:
    """Side and number of an edge contact, to sort by."""
    contact = contacts()[name]
    return contact.side, contact.number


def faults(width_lanes: int, most_generation: int) -> tuple[Fault, ...]:
    """Every single fault for a link of so many lanes at most."""
    found = list(_edge(width_lanes, most_generation))
    found += _pairs(width_lanes)
    found += _elsewhere(width_lanes, most_generation)
    return tuple(found)


def _edge(width_lanes: int, most: int) -> Iterator[Fault]:
    """Each contact of the card's edge by itself."""
    edge = next((w for w in _EDGE_WIDTHS if w >= width_lanes), 16)
    for contact in contacts().values():
        if not on_connector(contact, edge):
            continue
        shares, weight = _contact_shares(contact, width_lanes, most)
        yield Fault(contact.name, Where.CONTACT, frozenset({contact.name}), shares, weight)


def _leg(lane: int, side: Side, most: int) -> Shares:
    """A bad leg: open, resistive, or shorted to the ground beside it."""
    opened, resistive = open_leg(lane, side, most), resistive_leg(lane, side, most)
    return at_times(mixed([(0.60, opened), (0.40, resistive)]))


def _contact_shares(contact: Contact, width_lanes: int, most: int) -> tuple[Shares, float]:
    """Effects of a bad contact, and its weight, by what it carries."""
    if contact.lane is not None:
        if contact.lane >= width_lanes:
            return {SILENT: 1.0}, 1.0
        return _leg(contact.lane, _LANE_SIDE[contact.group], most), 1.0
    silent: Shares = {SILENT: 1.0}
    match contact.group:
        case "clock":
            return {ABSENT: 0.64, FLAKY: 0.10, SILENT: 0.05} | _poor_lanes(most, 0.21), 2.0
        case "reset":
            return {ABSENT: 0.70, FLAKY: 0.25, SILENT: 0.05}, 3.0
        case "presence_detect":
            tied = contact.name in ("A1", "B81")
            return ({ABSENT: 0.20, FLAKY: 0.10, SILENT: 0.70} if tied else silent), 2.0
        case "power_12v":
            return {SILENT: 0.93, LOST: 0.04, ABSENT: 0.03}, 1.0
        case "power_3v3":
            return {SILENT: 0.94, LOST: 0.02, ABSENT: 0.04}, 1.0
        case "ground":
            return _ground(contact, width_lanes, most), 0.5
        case _:
            return silent, 1.0


def _ground(contact: Contact, width_lanes: int, most: int) -> Shares:
    """A lost ground shields the pair beside it worse; that shows at high rates only."""
    lane, side = _beside(contact)
    if lane is None or lane >= width_lanes or most < 4:
        return {SILENT: 1.0}
    share = 0.35 if most >= 5 else 0.03
    errors = Effect("marginal", frozenset({lane}), side, most, "errors")
    burst = Effect("marginal", frozenset({lane}), side, most - 1, "burst")
    clean = Effect("marginal", frozenset({lane}), side, most - 1, "clean")
    return {
        SILENT: 1.0 - share, errors: 0.5 * share, burst: 0.35 * share, clean: 0.15 * share
    }


def _beside(contact: Contact) -> tuple[int | None, Side]:
    """Lane and side of the pair that a ground contact lies beside."""
    for step in (-1, 1):
        near = contacts().get(f"{contact.side}{contact.number + step}")
        if near is not None and near.lane is not None:
            return near.lane, _LANE_SIDE[near.group]
    return None, "B"


def _pairs(width_lanes: int) -> Iterator[Fault]:
    """Both legs of one direction of a lane at once: torn together, or touching each other."""
    for first in contacts().values():
        second = twin(first)
        if first.lane is None or first.lane >= width_lanes or second is None:
            continue
        if first.number > second.number:
            continue
        both = frozenset({first.name, second.name})
        shares = at_times({dead([first.lane]): 1.0})
        name = f"{first.name}+{second.name}"
        yield Fault(name, Where.PAIR, both, shares, 0.5)


def _elsewhere(width_lanes: int, most: int) -> Iterator[Fault]:
    """Faults that are none of the card's contacts."""
    for contact in contacts().values():
        if contact.lane is None or contact.lane >= width_lanes:
            continue
        side = _LANE_SIDE[contact.group]
        shares = _leg(contact.lane, side, most)
        near = frozenset({contact.name})
        if side == "A":
            yield Fault(f"capacitor of {contact.name}", Where.CAPACITOR, near, shares, 0.25)
        yield Fault(f"slot at {contact.name}", Where.SLOT_CONTACT, near, shares, 0.20)
    none: frozenset[str] = frozenset()
    yield Fault(Where.RISER, Where.RISER, none, _riser(most), 6.0)
    narrower = [w for w in (8, 4, 1) if w < width_lanes]
    if narrower:
        weights = dict(zip(narrower, (0.7, 0.2, 0.1), strict=False))
        whole = sum(weights.values())
        wired = {dead(range(w, width_lanes)): part / whole for w, part in weights.items()}
        yield Fault(Where.SLOT_WIRING, Where.SLOT_WIRING, none, wired, 10.0)
    slower = range(most - 1, 0, -1)
    if slower:
        held = {Effect("held", generation=g): 1.0 / len(slower) for g in slower}
        yield Fault(Where.HOST_SPEED, Where.HOST_SPEED, none, held, 4.0)
        yield Fault(Where.POWER_SAVING, Where.POWER_SAVING, none, _saving(most), 3.0)
    yield Fault(Where.POWER_PATH, Where.POWER_PATH, none, _power(most), 6.0)
    yield Fault(Where.SEATING, Where.SEATING, none, _seating(width_lanes, most), 6.0)
    yield Fault(Where.JOINT, Where.JOINT, none, {LOST: 0.9, SILENT: 0.1}, 6.0)


def _saving(most: int) -> Shares:
    """The link saves power under traffic: held low, or low at times and as fast as it can else."""
    slow = range(most - 1, 0, -1)
    weights = {Effect("saving", generation=g): 3.0 if g == 1 else 1.0 for g in slow}
    whole = 2.0 * sum(weights.values())
    return {effect: part / whole for effect, part in weights.items()} | {
        Effect("saving", generation=1, regime="burst"): 0.5
    }


def _power(most: int) -> Shares:
    """A power path that gives in: the card leaves, does not come up, or errs on every lane."""
    errs = Effect("lossy", generation=most, regime="errors", warm_only=True)
    return {LOST: 0.6, ABSENT: 0.1, errs: 0.15, SILENT: 0.15}


def _seating(width_lanes: int, most: int) -> Shares:
    """A tilted card: the far lanes lose touch first (lane 0 lies beside the key)."""
    shares: Shares = {ABSENT: 0.25, FLAKY: 0.12, SILENT: 0.08}
    shares |= _poor_lanes(most, 0.15)
    narrower = [w for w in (8, 4, 2, 1) if w < width_lanes]
    for width in narrower:
        shares[dead(range(width, width_lanes))] = 0.40 / len(narrower)
    if not narrower:
        shares[SILENT] += 0.40
    shares[SILENT] += max(0.0, 1.0 - sum(shares.values()))
    return shares


def _poor_lanes(most: int, share: float) -> Shares:
    """Every lane poor, at any rate that a riser makes poor, shared out as a riser's."""
    poor = {effect: part for effect, part in _riser(most).items() if effect != SILENT}
    whole = sum(poor.values())
    return {effect: share * part / whole for effect, part in poor.items()}


def _riser(most: int) -> Shares:
    """A riser too long for the rate: every lane is worse, none is dead."""
    shares: Shares = {SILENT: 0.4, Effect("lossy", generation=most, regime="errors"): 0.25}
    lower = [g for g in (most - 1, most - 2) if g >= 1]
    if not lower:
        return shares | {SILENT: 0.75}
    for generation in lower:
        for regime, share in (("clean", 0.5), ("errors", 0.3), ("burst", 0.2)):
            effect = Effect(
                "lossy", generation=generation,
                regime=regime,  # type: ignore[arg-type]
            )
            shares[effect] = 0.35 / len(lower) * share
    return at_times(shares)
