"""Which faults of link and edge there are, and how often each is drawn (estimates)."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from burnin.connector.contact_map import LAST_CONTACT
from tests.others.explained.bench import Bench
from tests.others.explained.cases import Fault
from tests.others.explained.edge import (
    LANES,
    SLOT_12V,
    group_of,
    lane_grounds,
    lane_of,
    legs,
    neighbours,
)
from tests.others.explained.effects import STRANGE

Rng = np.random.Generator
EFFECT_SHARES = (("open", 0.5), ("resistive", 0.32), ("short", 0.18))


def _pick(rng: Rng, pairs: tuple[tuple[str, float], ...]) -> str:
    shares = np.array([share for _, share in pairs])
    return pairs[int(rng.choice(len(pairs), p=shares / shares.sum()))][0]


def _lane(bench: Bench, rng: Rng) -> int:
    return int(rng.integers(min(LANES, bench.card_width, bench.slot_lanes)))


def _pair(bench: Bench, rng: Rng) -> tuple[str, int, tuple[str, str]]:
    side, lane = "AB"[int(rng.integers(2))], _lane(bench, rng)
    return side, lane, legs(side, lane)


def _contact(bench: Bench, rng: Rng, kind: str = "contact") -> Fault:
    side, lane, pair = _pair(bench, rng)
    effect = _pick(rng, EFFECT_SHARES)
    warm = effect == "resistive" and rng.random() < 0.3
    if effect == "open" and rng.random() < 0.4:
        return Fault(kind, pair, lane, side, "open both")
    if effect == "resistive" and rng.random() < 0.2:
        return Fault(kind, pair, lane, side, effect, warm)
    return Fault(kind, (pair[int(rng.integers(2))],), lane, side, effect, warm)


def _spring(bench: Bench, rng: Rng) -> Fault:
    fault = _contact(bench, rng, "slot spring")
    if fault.effect != "short":
        return fault
    return Fault("slot spring", fault.contacts[:1], fault.lane, fault.side, "open")


def _capacitor(bench: Bench, rng: Rng) -> Fault:
    lane = _lane(bench, rng)
    pair = legs("A", lane)
    effect = "open" if rng.random() < 0.6 else "resistive"
    both = effect == "open" and rng.random() < 0.15
    hit = pair if both else (pair[int(rng.integers(2))],)
    return Fault("capacitor", hit, lane, "A", effect)


def _joint(bench: Bench, rng: Rng) -> Fault:
    side, lane, pair = _pair(bench, rng)
    effect = _pick(rng, (("gone", 0.6), ("resistive", 0.25), ("open", 0.15)))
    return Fault("joint", (pair[int(rng.integers(2))],), lane, side, effect, warm_only=True)


def _gouge(bench: Bench, rng: Rng) -> Fault:
    side = "AB"[int(rng.integers(2))]
    count = int(rng.integers(2, 5))
    last = LAST_CONTACT[8 if min(bench.card_width, bench.slot_lanes) == 8 else 16]
    first = int(rng.integers(14, last - count + 1))
    names = tuple(f"{side}{first + n}" for n in range(count))
    lanes = [where[1] for where in map(lane_of, names) if where is not None]
    effect = "open" if rng.random() < 0.7 else "resistive"
    if not lanes:
        return _gouge(bench, rng)
    return Fault("gouge", names, min(lanes), side, effect)


def _ground(bench: Bench, rng: Rng) -> Fault:
    name = str(rng.choice(lane_grounds()))
    if rng.random() < 0.25:
        beside = [n for n in neighbours(name) if group_of(n).startswith("lane")]
        hit = beside[int(rng.integers(len(beside)))]
        where = lane_of(hit)
        if where is not None and where[1] < min(bench.card_width, bench.slot_lanes):
            return Fault("contact", (hit,), where[1], where[0], "short")
    return Fault("ground", (name,), None, name[0], "open")


def _riser(bench: Bench, rng: Rng) -> Fault:
    if rng.random() < 0.65:
        return Fault("riser", effect="all lanes")
    side, lane, pair = _pair(bench, rng)
    return Fault("riser", pair[:1], lane, side, "open" if rng.random() < 0.5 else "resistive")


def _wiring(bench: Bench, rng: Rng) -> Fault:
    return Fault("slot wiring", effect=f"x{rng.choice([8, 8, 4, 4, 1])}")


def _host(bench: Bench, rng: Rng) -> Fault:
    return Fault("host speed", effect=f"generation {rng.integers(1, bench.most_generation)}")


def _saving(bench: Bench, rng: Rng) -> Fault:
    return Fault("power saving", effect="slow at times")


def _path(bench: Bench, rng: Rng) -> Fault:
    return Fault("power path", effect="gone" if rng.random() < 0.6 else "errors", warm_only=True)


def _seating(bench: Bench, rng: Rng) -> Fault:
    return Fault("seating", effect="tilted" if rng.random() < 0.75 else "dirt")


def _clock(bench: Bench, rng: Rng) -> Fault:
    effect = "open" if rng.random() < 0.5 else "resistive"
    return Fault("clock", (str(rng.choice(["A13", "A14"])),), None, "A", effect)


def _reset(bench: Bench, rng: Rng) -> Fault:
    return Fault("reset", ("A11",), None, "A", _pick(rng, EFFECT_SHARES))


def _presence(bench: Bench, rng: Rng) -> Fault:
    end = "B81" if bench.card_width == 16 else "B48"
    name = "A1" if rng.random() < 0.5 else end
    return Fault("presence", (name,), None, name[0], "open")


def _supply(bench: Bench, rng: Rng) -> Fault:
    count = 1 if rng.random() < 0.6 else 2
    names = tuple(sorted(str(n) for n in rng.choice(SLOT_12V, count, replace=False)))
    return Fault("supply contact", names, effect="open" if rng.random() < 0.7 else "resistive")


def _strange(bench: Bench, rng: Rng) -> Fault:
    return Fault("something else", effect=str(rng.choice(STRANGE)))


Draws = dict[str, tuple[float, Callable[[Bench, Rng], Fault]]]
LINK_FAULTS: Draws = {
    "contact": (0.34, _contact),
    "capacitor": (0.07, _capacitor),
    "slot spring": (0.07, _spring),
    "gouge": (0.08, _gouge),
    "joint": (0.07, _joint),
    "riser": (0.06, _riser),
    "slot wiring": (0.04, _wiring),
    "host speed": (0.04, _host),
    "power saving": (0.03, _saving),
    "power path": (0.03, _path),
    "seating": (0.06, _seating),
    "ground": (0.03, _ground),
    "clock": (0.02, _clock),
    "reset": (0.01, _reset),
    "presence": (0.01, _presence),
    "supply contact": (0.01, _supply),
    "something else": (0.06, _strange),
}
"""Share among faulty cards and benches, and the draw."""

ON_BENCH = ("slot spring", "riser", "slot wiring", "host speed", "power saving")
STRANGE_ON_BENCH = STRANGE[:4]


def stays_on_bench(fault: Fault) -> bool:
    """Whether a known-good card on the same bench shows it too."""
    strange = fault.kind == "something else" and fault.effect in STRANGE_ON_BENCH
    return fault.kind in ON_BENCH or strange


def draw_fault(bench: Bench, rng: Rng, kinds: Draws = LINK_FAULTS) -> Fault:
    """One fault by its share."""
    kind = _pick(rng, tuple((name, share) for name, (share, _) in kinds.items()))
    return kinds[kind][1](bench, rng)


def draw_second(bench: Bench, first: Fault, rng: Rng) -> Fault | None:
    """An independent second fault in one of four, of another lane where both are lanes'."""
    two = ("contact", "capacitor", "slot spring", "joint", "riser", "host speed")
    if first.kind not in (*two, "gouge") or rng.random() > 0.28:
        return None
    fault = draw_fault(bench, rng, {name: LINK_FAULTS[name] for name in two[:4]})
    apart = fault.lane is None or fault.lane != first.lane
    clear = not set(fault.contacts) & set(first.contacts)
    return fault if apart and clear and fault.effect != "gone" else None
