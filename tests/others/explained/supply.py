"""12 V at plug and slot by power step: what contacts, sense lines and the supply unit do to it.

Resistance per contact with its wire: 8-pin and 6-pin 12 mΩ, 12V-2x6 10 mΩ, slot 15 mΩ with the
board's copper (estimates); ground returns as much again. Sensors of cards: 10 to 50 mV steps, an
offset of up to 0.1 V, power good to 3 % (estimates).

``supply`` of a case: ``plug`` (6pin, 8pin, 12v2x6), ``limit_w`` set and ``default_limit_w`` of the
card, ``sensed_limit_w`` what the sense lines grant by the card's word (null: not told), ``steps``
of ``asked_w``, ``power_w``, ``plug_v``, ``slot_v`` (null: no sensor), ``slot_w`` (null: no sensor),
``throttle`` (words: "power limit", "supply brake", "heat"), and ``known_good``: ``plug_mohm`` and
``slot_mohm`` of sound cards on this bench as [median, spread, n], or null.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.others.explained.cases import Fault, JsonDict
from tests.others.explained.edge import SLOT_12V

Rng = np.random.Generator
SLOT_MOHM = 15.0
PLUGS = {"6pin": (3, 12.0, 75.0), "8pin": (3, 12.0, 150.0), "12v2x6": (6, 10.0, 600.0)}
"""By plug: 12 V contacts, mΩ of each with its wire, most W."""


@dataclass(frozen=True)
class Plug:
    """The card's plug: `count` contacts of 12 V, `most_w` what its sense lines grant."""

    name: str
    count: int
    each_mohm: float
    most_w: float

    @property
    def card_w(self) -> float:
        """What a card with this plug is set to draw: most of plug and slot together."""
        return 0.85 * min(self.most_w, 450.0) + 45.0


def draw_plug(rng: Rng) -> Plug:
    """A plug by how common it is."""
    name = str(rng.choice(list(PLUGS), p=[0.15, 0.5, 0.35]))
    count, each_mohm, most_w = PLUGS[name]
    return Plug(name, count, each_mohm, most_w)


def sensed_w(plug: Plug, fault: Fault | None, rng: Rng) -> float:
    """What the sense lines grant with one of them open."""
    if fault is None or fault.kind != "sense line":
        return plug.most_w
    if plug.name == "12v2x6":
        return 450.0 if fault.contacts == ("12v2x6/S4",) else 300.0
    return 75.0 if fault.contacts == ("8pin/4",) else 0.0


def _parallel_mohm(each_mohm: float, count: int, lost: list[float]) -> float:
    """Contacts in parallel; `lost` mΩ more of those that ail (inf: open)."""
    conductance = (count - len(lost)) / each_mohm
    conductance += sum(1 / (each_mohm + more) for more in lost)
    return 1 / max(conductance, 1e-3)


def _more(fault: Fault | None, names: tuple[str, ...], rng: Rng) -> list[float]:
    if fault is None or fault.kind != "supply contact":
        return []
    hit = [name for name in fault.contacts if name in names]
    poor = fault.effect == "resistive"
    return [float(rng.uniform(15, 150)) if poor else float("inf") for _ in hit]


def draw_supply(plug: Plug, fault: Fault | None, rng: Rng, set_low: bool = False) -> JsonDict:
    """The readings over three to six power steps."""
    own = plug.card_w * float(rng.uniform(0.8, 1.05))
    default_w = float(np.round(own / 5) * 5)
    limit_w = float(np.round(default_w * rng.uniform(0.5, 0.85))) if set_low else default_w
    granted = sensed_w(plug, fault, rng)
    told = granted if rng.random() < 0.6 else None
    ceiling_w = min(limit_w, granted + 66.0) if granted < plug.most_w else limit_w
    names = tuple(f"{plug.name}/{n + 1}" for n in range(plug.count))
    spread = rng.normal(1, 0.08, 2)
    plug_mohm = _parallel_mohm(plug.each_mohm, plug.count, _more(fault, names, rng)) * spread[0]
    plug_mohm += plug.each_mohm / plug.count
    slot_mohm = _parallel_mohm(SLOT_MOHM, 5, _more(fault, SLOT_12V, rng)) * spread[1] + 3
    sags = fault is not None and fault.kind == "supply unit"
    source_v = float(rng.normal(12.1, 0.07))
    source_mohm = float(rng.uniform(15, 40)) if sags else float(rng.uniform(0.5, 2.0))
    step_v = float(rng.choice([0.01, 0.02, 0.05]))
    off = rng.normal(0, 0.03, 2)
    has_slot = rng.random() < 0.7
    braked = fault is not None and fault.effect == "supply brake held"
    lies = fault is not None and fault.effect == "meter of power lies"
    scale = float(rng.choice([0.6, 1.5])) if lies else 1.0
    steps = []
    for share in np.linspace(0.15, 1.0, int(rng.integers(3, 7))):
        asked = default_w * float(share)
        power = min(asked, ceiling_w, default_w * 0.4 if braked else 1e9) * rng.normal(1, 0.006)
        slot_w = min(60.0, 0.25 * power + 5)
        amps = (power - slot_w) / 12.0, slot_w / 12.0
        inside = source_v - source_mohm * (sum(amps) + 8) / 1000
        plug_v = inside - plug_mohm * amps[0] / 1000 + off[0] + rng.normal(0, 0.008)
        slot_v = inside - slot_mohm * amps[1] / 1000 + off[1] + rng.normal(0, 0.008)
        words = ["power limit"] if asked > min(ceiling_w, 1e9) * 1.01 else []
        if braked or (inside < 11.4 and rng.random() < 0.7):
            words.append("supply brake")
        steps.append(
            {
                "asked_w": round(asked),
                "power_w": round(float(power) * scale, 1),
                "plug_v": round(float(np.round(plug_v / step_v) * step_v), 3),
                "slot_v": round(float(np.round(slot_v / step_v) * step_v), 3) if has_slot else None,
                "slot_w": round(float(slot_w * rng.normal(1, 0.02)), 1) if has_slot else None,
                "throttle": words,
            }
        )
    return {
        "plug": plug.name,
        "limit_w": limit_w,
        "default_limit_w": default_w,
        "sensed_limit_w": told,
        "steps": steps,
        "known_good": _known_good(plug, rng) if rng.random() < 0.5 else None,
    }


def _known_good(plug: Plug, rng: Rng) -> JsonDict:
    """Sound cards on this bench: slopes of 12 V against current, in mΩ."""
    count = int(rng.integers(2, 12))
    plug_mohm = 2 * plug.each_mohm / plug.count + 1.2
    slot_mohm = SLOT_MOHM / 5 + 3 + 1.2
    near = rng.normal(1, 0.04, 2)
    return {
        "plug_mohm": [round(plug_mohm * float(near[0]), 2), round(0.07 * plug_mohm, 2), count],
        "slot_mohm": [round(slot_mohm * float(near[1]), 2), round(0.15 * slot_mohm, 2), count],
    }


def supply_shows(plug: Plug, fault: Fault | None, supply: JsonDict | None) -> bool:
    """Whether the readings can tell the fault from a sound card's at all."""
    if fault is None or supply is None or fault.kind == "sound":
        return False
    if fault.kind == "sense line":
        throttled = any(step["throttle"] for step in supply["steps"])
        return throttled or supply["sensed_limit_w"] not in (None, plug.most_w)
    if fault.kind == "supply contact":
        at_plug = any(name.startswith(plug.name) for name in fault.contacts)
        at_slot = any(name in SLOT_12V for name in fault.contacts)
        return at_plug or (at_slot and supply["steps"][0]["slot_v"] is not None)
    return True
