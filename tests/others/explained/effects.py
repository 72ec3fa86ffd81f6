"""What a fault does to the link: to single lanes, and to the whole.

Amplitude and equalisation figures are estimates; that a lane whose receiver is not found takes no
part, that each end detects through its own pair, that errors count where they are received, is PCI
Express Base 4.2.4 and 4.2.6 (second hand: MindShare, ch. 14).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from tests.others.explained.bench import Bench
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
SOUND_DECADES = {1: 26.0, 2: 23.0, 3: 20.0, 4: 17.5, 5: 15.5}
"""Decades of bit error rate below 1 of a sound lane, by generation (estimates)."""
SHARE_OF_LOSS = {1: 0.1, 2: 0.25, 3: 0.55, 4: 0.8, 5: 1.0}
"""Share of a lane's loss at 32 GT/s that it has at each generation (estimates)."""
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


def _loss_to(bench: Bench, decades: float) -> float:
    """The loss that leaves a lane so many decades at the bench's highest generation.

    Some 12.5 are needed for no error in minutes; below 6.5 the lane does not equalise.
    """
    generation = bench.most_generation
    sound = SOUND_DECADES[generation] + bench.margin
    return max(sound - decades, 0.0) / SHARE_OF_LOSS[generation]


def _poor(bench: Bench, rng: Rng) -> float:
    """The loss of a resistive contact: mostly errors, at times too little or too much for them."""
    return _loss_to(bench, float(rng.uniform(5, 12.8) if rng.random() < 0.9 else 14))


def _leg(bench: Bench, where: LaneSide, effect: str, rng: Rng) -> Effects:
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
        return Effects({where: _loss_to(bench, rng.uniform(6.6, 10))})
    return Effects({where: _poor(bench, rng)})


def _contacts(bench: Bench, names: tuple[str, ...], effect: str, rng: Rng) -> Effects:
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
            found = found.joined(_other(bench, name, effect, rng))
    for where, hit in by_lane.items():
        both = len(hit) == 2 and effect == "open"
        found = found.joined(_leg(bench, where, "open both" if both else effect, rng))
    return found


def _other(bench: Bench, name: str, effect: str, rng: Rng) -> Effects:
    """A contact that is no lane's."""
    group = group_of(name)
    if group == "ground":
        near = [where for where in map(lane_of, neighbours(name)) if where is not None]
        decades = float(rng.choice([99.0, rng.uniform(13, 15), rng.uniform(10, 12.5)]))
        hurt = _loss_to(bench, decades)
        return Effects(dict.fromkeys(near, hurt) if hurt else {})
    if group == "clock":
        if effect == "resistive":
            return Effects(everywhere=(_poor(bench, rng), _poor(bench, rng)),
                           comes_up=float(rng.uniform(0.6, 1)))  # fmt: skip
        return Effects(absent=True)
    if group == "reset":
        if effect == "resistive":
            return Effects(comes_up=float(rng.uniform(0.3, 0.95)))
        return Effects(absent=True)
    return Effects()


def _whole(bench: Bench, fault: Fault, rng: Rng) -> Effects:
    """Faults of slot, riser, host, seat and path."""
    kind, word = fault.kind, fault.effect
    if kind == "riser":
        if word == "all lanes":
            hurt = _loss_to(bench, rng.uniform(5.5, 12))
            return Effects({(s, n): hurt + rng.normal(0, 0.8) for s in SIDES for n in range(LANES)})
        return _leg(bench, (fault.side or "A", fault.lane or 0), word, rng)
    if kind == "slot wiring":
        return Effects(width_cap=int(word.removeprefix("x")))
    if kind == "host speed":
        return Effects(generation_cap=int(word.removeprefix("generation ")),
                       told_cap=bool(rng.random() < 0.7))  # fmt: skip
    if kind == "power saving":
        return Effects(slow_at_times=True)
    if kind == "power path":
        both = (_loss_to(bench, rng.uniform(9, 15)), _loss_to(bench, rng.uniform(9, 15)))
        return Effects(everywhere=both, lost=word == "gone",
                       bursts_per_min=(rng.uniform(0, 60), rng.uniform(0, 60)))  # fmt: skip
    if kind == "seating":
        return _seating(bench, word, rng)
    return _strange(bench, word, rng)


def _seating(bench: Bench, word: str, rng: Rng) -> Effects:
    """Tilted: from some lane to the far end, on both sides, in every degree; or dirt at random."""
    first = int(rng.integers(2, 16)) if word == "tilted" else 0
    loss: dict[LaneSide, float] = {}
    for side in SIDES:
        for lane in range(first, LANES):
            share = 0.75 if word == "tilted" else 0.2
            if rng.random() < share:
                loss[side, lane] = GONE if rng.random() < 0.4 else _poor(bench, rng)
    if not loss:
        loss["B", LANES - 1] = GONE
    return Effects(loss, comes_up=float(rng.uniform(0.7, 1)))


STRANGE = ("bursts from outside", "clock wanders", "slot clock set wrong", "lanes shared", "hangs")


def _strange(bench: Bench, word: str, rng: Rng) -> Effects:
    """Faults in no list."""
    if word == "bursts from outside":
        rate = float(10 ** rng.uniform(0.5, 2.5))
        return Effects(bursts_per_min=(rate, rate * float(rng.uniform(0.5, 2))))
    if word == "clock wanders":
        one = (_loss_to(bench, rng.uniform(7, 12)), 0.0)
        return Effects(everywhere=one if rng.random() < 0.5 else one[::-1])
    if word == "slot clock set wrong":
        return Effects(everywhere=(_loss_to(bench, rng.uniform(5.5, 11)),) * 2, comes_up=0.85)
    if word == "lanes shared":
        return Effects(shared_lanes=float(rng.uniform(0.3, 0.9)))
    return Effects(lost=True, comes_up=float(rng.uniform(0.6, 1)))


def effects_of(bench: Bench, fault: Fault, rng: Rng) -> Effects:
    """What a fault does while it shows (a warm-only one: while warm)."""
    direct = ("contact", "gouge", "slot spring", "clock", "reset", "ground", "supply contact")
    if fault.kind in direct:
        edge = tuple(name for name in fault.contacts if "/" not in name)
        return _contacts(bench, edge, fault.effect, rng)
    if fault.kind in ("capacitor", "joint") and fault.side is not None and fault.lane is not None:
        if fault.effect == "gone":
            return Effects({(fault.side, fault.lane): _poor(bench, rng)}, lost=True)
        both = fault.effect == "open" and set(fault.contacts) == set(legs(fault.side, fault.lane))
        return _leg(bench, (fault.side, fault.lane), "open both" if both else fault.effect, rng)
    if fault.kind in ("sound", "presence", "sense line"):
        return Effects()
    return _whole(bench, fault, rng)
