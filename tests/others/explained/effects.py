"""What a fault does to the link: to single lanes, and to the whole.

Amplitude and equalisation figures are estimates; that a lane whose receiver is not found takes no
part, that each end detects through its own pair, that errors count where they are received, is PCI
Express Base 4.2.4 and 4.2.6 (second hand: MindShare, ch. 14).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from tests.others.explained.cases import Fault
from tests.others.explained.edge import (
    LANES,
    SIDES,
    group_of,
    lane_of,
    legs,
    neighbours,
)

Rng = np.random.Generator
LaneSide = tuple[str, int]
GONE = 60.0
"""Decades lost by a direction that carries nothing; from 30 on no receiver is found."""


@dataclass(frozen=True)
class Effects:
    """What the faults do at one temperature.

    `loss` decades of bit error rate lost at 32 GT/s by side and lane (`GONE`: no signal at all);
    `ceiling` the highest generation at which the direction still equalises; `everywhere` decades
    lost on all lanes at each end that receives; `bursts_per_min` errors a minute on all lanes at
    card and port, whatever the rate; `absent` never appears; `comes_up` share of starts; `lost`
    leaves the bus; `slow_at_times` rate lowered at times without errors.
    """

    loss: dict[LaneSide, float] = field(default_factory=dict)
    ceiling: dict[LaneSide, int] = field(default_factory=dict)
    everywhere: tuple[float, float] = (0.0, 0.0)
    bursts_per_min: tuple[float, float] = (0.0, 0.0)
    absent: bool = False
    comes_up: float = 1.0
    lost: bool = False
    generation_cap: int = 5
    told_cap: bool = False
    width_cap: int = 16
    shared_lanes: float = 0.0
    slow_at_times: bool = False

    def joined(self, other: Effects) -> Effects:
        """Both at once."""
        loss = dict(self.loss)
        for key, value in other.loss.items():
            loss[key] = loss.get(key, 0.0) + value
        ceiling = dict(self.ceiling)
        for key, most in other.ceiling.items():
            ceiling[key] = min(most, ceiling.get(key, 5))
        return Effects(
            loss,
            ceiling,
            (self.everywhere[0] + other.everywhere[0], self.everywhere[1] + other.everywhere[1]),
            (
                self.bursts_per_min[0] + other.bursts_per_min[0],
                self.bursts_per_min[1] + other.bursts_per_min[1],
            ),
            self.absent or other.absent,
            self.comes_up * other.comes_up,
            self.lost or other.lost,
            min(self.generation_cap, other.generation_cap),
            self.told_cap or other.told_cap,
            min(self.width_cap, other.width_cap),
            max(self.shared_lanes, other.shared_lanes),
            self.slow_at_times or other.slow_at_times,
        )


def _leg(where: LaneSide, effect: str, rng: Rng) -> Effects:
    """One lane's one direction, by what ails its legs.

    One leg open: amplitude halves and goes single-ended. The receiver may not be found, or the lane
    trains at 2.5 and 5 GT/s and does not equalise, or now and then only errs (from memory).
    """
    if effect == "open both" or effect == "short":
        return Effects({where: GONE})
    if effect == "open":
        way = rng.random()
        if way < 0.45:
            return Effects({where: GONE})
        if way < 0.88:
            return Effects({where: rng.uniform(3, 8)}, {where: int(rng.integers(1, 3))})
        return Effects({where: rng.uniform(7, 13)})
    return Effects({where: float(rng.uniform(3.5, 13))})


def _contacts(names: tuple[str, ...], effect: str, rng: Rng) -> Effects:
    """Contacts of the edge, each by its group."""
    by_lane: dict[LaneSide, list[str]] = {}
    found = Effects()
    for name in names:
        where = lane_of(name)
        if where is not None:
            by_lane.setdefault(where, []).append(name)
        elif effect == "short" and group_of(name) == "ground":
            continue
        else:
            found = found.joined(_other(name, effect, rng))
    for where, hit in by_lane.items():
        both = len(hit) == 2 and effect == "open"
        found = found.joined(_leg(where, "open both" if both else effect, rng))
    return found


def _other(name: str, effect: str, rng: Rng) -> Effects:
    """A contact that is no lane's."""
    group = group_of(name)
    if group == "ground":
        near = [where for where in map(lane_of, neighbours(name)) if where is not None]
        hurt = float(rng.choice([0.0, rng.uniform(0.5, 4), rng.uniform(4, 7)], p=[0.5, 0.35, 0.15]))
        return Effects(dict.fromkeys(near, hurt) if hurt else {})
    if group == "clock":
        if effect == "resistive":
            return Effects(everywhere=(float(rng.uniform(4, 9)), float(rng.uniform(1, 9))),
                           comes_up=float(rng.uniform(0.6, 1)))  # fmt: skip
        return Effects(absent=True)
    if group == "reset":
        if effect == "resistive":
            return Effects(comes_up=float(rng.uniform(0.3, 0.95)))
        return Effects(absent=True)
    return Effects()


def _whole(fault: Fault, rng: Rng) -> Effects:
    """Faults of slot, riser, host, seat and path."""
    kind, word = fault.kind, fault.effect
    if kind == "riser":
        if word == "all lanes":
            hurt = float(rng.uniform(3, 9))
            return Effects({(s, n): hurt + rng.normal(0, 0.8) for s in SIDES for n in range(LANES)})
        return _leg((fault.side or "A", fault.lane or 0), "open" if word == "open" else word, rng)
    if kind == "slot wiring":
        return Effects(width_cap=int(word.removeprefix("x")))
    if kind == "host speed":
        return Effects(generation_cap=int(word.removeprefix("generation ")),
                       told_cap=bool(rng.random() < 0.7))  # fmt: skip
    if kind == "power saving":
        return Effects(slow_at_times=True)
    if kind == "power path":
        both = (float(rng.uniform(0, 4)), float(rng.uniform(0, 4)))
        return Effects(everywhere=both, lost=word == "gone",
                       bursts_per_min=(rng.uniform(0, 60), rng.uniform(0, 60)))  # fmt: skip
    if kind == "seating":
        return _seating(word, rng)
    return _strange(word, rng)


def _seating(word: str, rng: Rng) -> Effects:
    """Tilted: from some lane to the far end, on both sides, in every degree; or dirt at random."""
    first = int(rng.integers(2, 16)) if word == "tilted" else 0
    loss: dict[LaneSide, float] = {}
    for side in SIDES:
        for lane in range(first, LANES):
            share = 0.75 if word == "tilted" else 0.2
            if rng.random() < share:
                loss[side, lane] = GONE if rng.random() < 0.4 else float(rng.uniform(2, 14))
    if not loss:
        loss["B", LANES - 1] = GONE
    return Effects(loss, comes_up=float(rng.uniform(0.7, 1)))


STRANGE = ("bursts from outside", "clock wanders", "slot clock set wrong", "lanes shared", "hangs")


def _strange(word: str, rng: Rng) -> Effects:
    """Faults in no list."""
    if word == "bursts from outside":
        rate = float(10 ** rng.uniform(0.5, 2.5))
        return Effects(bursts_per_min=(rate, rate * float(rng.uniform(0.5, 2))))
    if word == "clock wanders":
        one = (float(rng.uniform(4, 9)), 0.0)
        return Effects(everywhere=one if rng.random() < 0.5 else one[::-1])
    if word == "slot clock set wrong":
        return Effects(everywhere=(float(rng.uniform(5, 10)),) * 2, comes_up=0.85)
    if word == "lanes shared":
        return Effects(shared_lanes=float(rng.uniform(0.3, 0.9)))
    return Effects(lost=True, comes_up=float(rng.uniform(0.6, 1)))


def effects_of(fault: Fault, rng: Rng) -> Effects:
    """What a fault does while it shows (a warm-only one: while warm)."""
    direct = ("contact", "gouge", "slot spring", "clock", "reset", "ground", "supply contact")
    if fault.kind in direct:
        edge = tuple(name for name in fault.contacts if "/" not in name)
        return _contacts(edge, fault.effect, rng)
    if fault.kind in ("capacitor", "joint") and fault.side is not None and fault.lane is not None:
        if fault.effect == "gone":
            return Effects({(fault.side, fault.lane): float(rng.uniform(4, 12))}, lost=True)
        both = fault.effect == "open" and set(fault.contacts) == set(legs(fault.side, fault.lane))
        return _leg((fault.side, fault.lane), "open both" if both else fault.effect, rng)
    if fault.kind in ("sound", "presence", "sense line"):
        return Effects()
    return _whole(fault, rng)
