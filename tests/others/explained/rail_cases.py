"""Cases of rails, presence, reset, clock and sense lines, as the edge and the plugs show them.

Sense lines: table 5-6 of Intel's ATX guide 336521 for 8-pin, 5-7 for the names of 12V-2x6; the
middle rows of the latter from memory. An x16 slot gives 5.5 A at 12 V (Card Electromechanical
Specification, second hand).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tests.others.explained.bench import Bench, draw_bench
from tests.others.explained.cases import VISIBILITIES, Case, Fault, Truth
from tests.others.explained.edge import SLOT_3V3, SLOT_12V
from tests.others.explained.effects import Effects
from tests.others.explained.link_cases import Scene, scene_of, seen_of, shows
from tests.others.explained.meter import measured
from tests.others.explained.supply import draw_plug, draw_supply, supply_shows

Rng = np.random.Generator
KINDS = ("sound", "clock", "reset", "presence", "supply contact", "sense line", "rail short",
         "something else")  # fmt: skip
SHARES = (0.26, 0.12, 0.12, 0.12, 0.14, 0.1, 0.08, 0.06)


def _fault(kind: str, bench: Bench, plug: str, rng: Rng) -> Fault:
    """One fault of the kind."""
    if kind == "clock":
        effect = str(rng.choice(["open", "resistive", "short"], p=[0.6, 0.3, 0.1]))
        return Fault("clock", (str(rng.choice(["A13", "A14"])),), None, "A", effect)
    if kind == "reset":
        effect = str(rng.choice(["open", "resistive", "short"], p=[0.5, 0.25, 0.25]))
        return Fault("reset", ("A11",), None, "A", effect)
    if kind == "presence":
        name = str(rng.choice(["A1", "B81" if bench.card_width == 16 else "B48"]))
        return Fault("presence", (name,), None, name[0], "open")
    if kind == "supply contact":
        return _supply(plug, rng)
    if kind == "sense line":
        lines = {"6pin": ["5"], "8pin": ["4", "6"], "12v2x6": ["S3", "S4"]}[plug]
        return Fault("sense line", (f"{plug}/{rng.choice(lines)}",), effect="open")
    if kind == "rail short":
        return Fault("rail short", effect=str(rng.choice(["supply_12v", "supply_3v3"])))
    strange = ["board does not start", "hangs"]
    return Fault("something else", effect=str(rng.choice(strange)))


def _supply(plug: str, rng: Rng) -> Fault:
    """One or two contacts that bring current, of one group."""
    plugs = {"6pin": 3, "8pin": 3, "12v2x6": 6}
    groups = (SLOT_12V, SLOT_3V3, tuple(f"{plug}/{n + 1}" for n in range(plugs[plug])))
    group = groups[int(rng.choice(3, p=[0.45, 0.15, 0.4]))]
    count = 1 if rng.random() < 0.55 else 2
    names = tuple(sorted(str(n) for n in rng.choice(group, count, replace=False)))
    effect = "open" if rng.random() < 0.65 else "resistive"
    return Fault("supply contact", names, effect=effect, warm_only=False)


def _points(faults: tuple[Fault, ...], plug: str, rng: Rng) -> list[str]:
    """What a technician meters before power on a card like this: rails first, then some groups."""
    points = ["supply_12v", "supply_3v3"] if rng.random() < 0.7 else []
    groups = (["A1", "B81"], ["A11"], ["A13", "A14"], list(SLOT_12V), list(SLOT_3V3))
    for group in groups:
        points += group if rng.random() < 0.25 else []
    if rng.random() < 0.25:
        points += [f"{plug}/{n}" for n in range(1, 7)]
    return points


def draw_rail_case(rng: Rng) -> Case:
    """One case; about one in four is sound."""
    bench = draw_bench(rng)
    plug = draw_plug(rng)
    visibility = VISIBILITIES[int(rng.integers(4))]
    kind = str(rng.choice(KINDS, p=SHARES))
    faults = () if kind == "sound" else (_fault(kind, bench, plug.name, rng),)
    if kind == "presence" and rng.random() < 0.7:
        bench = replace(bench, watches_presence=True)
    scene = _scene(bench, faults, rng)
    seen, odd = seen_of(scene, visibility, rng)
    supply = None
    if not seen.absent and (kind in ("supply contact", "sense line") or rng.random() < 0.6):
        supply = draw_supply(plug, faults[0] if faults else None, rng)
    points = _points(faults, plug.name, rng)
    seen = replace(seen, supply=supply, before_power=measured(list(faults), points, rng))
    fault = faults[0] if faults else Fault("sound")
    by_meter = any(r.point in fault.contacts for r in seen.before_power)
    in_supply = supply_shows(plug, fault, supply)
    shown = bool(faults) and (by_meter or seen.absent or shows(scene, visibility) or in_supply)
    truth = Truth(fault, None, odd, shown, {"absent": seen.absent})
    return Case("rail", visibility, seen, truth)


def _scene(bench: Bench, faults: tuple[Fault, ...], rng: Rng) -> Scene:
    """As of the link, with what only rails do: a short or a refused supply keeps the card away."""
    if not faults:
        return scene_of(bench, faults, rng)
    fault = faults[0]
    if fault.kind == "rail short" or fault.effect == "board does not start":
        gone = Effects(absent=True)
        return Scene(bench, faults, gone, gone, Effects())
    if fault.kind == "sense line" and rng.random() < 0.35:
        gone = Effects(absent=True)
        return Scene(bench, faults, gone, gone, Effects())
    return scene_of(bench, faults, rng)
