"""Coolers: kinds of card by their thermal resistances, single cards, and what ails them.

Resistances and capacities: the project's table of thermal facts (engineering estimates). The spread
between sound cards of a kind, 10 to 20 %, and what a fault multiplies, are common practice.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

Rng = np.random.Generator
COOLINGS = ("air", "blower", "water", "passive")
CAUSES = (
    "sound", "mount", "paste in part", "fan", "fins", "flow", "room", "pump dry", "sensor",
    "something else",
)  # fmt: skip
SPREAD = {"die_to_block": 0.1, "block_to_room": 0.08, "die_to_hotspot": 0.12}
"""Standard deviation of the logarithm between sound cards of a kind."""


@dataclass(frozen=True)
class Cooler:
    """A cooler: K/W (`block_to_room` with fans at 75 %), J/K, fans, and what is wrong with it.

    `rpm_share` of what the fans should turn, by fan; `settles` times slower to steady than its own
    time constant says; `pads_k` more at the memory; `power_scale` what the power reading is of the
    truth; `sensor` the fault of a reading, or empty.
    """

    cooling: str
    full_w: float
    die_to_block: float
    block_to_room: float
    die_to_hotspot: float
    capacity_j_per_k: float
    fans: int
    top_rpm: float
    room_c: float
    rpm_share: tuple[float, ...]
    settles: float = 1.0
    pads_k: float = 0.0
    power_scale: float = 1.0
    curve_pct: float = 100.0
    sensor: str = ""


def draw_kind(rng: Rng) -> Cooler:
    """A kind of card, sound and at the middle of its spread."""
    cooling = str(rng.choice(COOLINGS, p=[0.55, 0.15, 0.22, 0.08]))
    full_w = float(rng.uniform(60, 110) if cooling == "passive" else rng.uniform(130, 450))
    scale = 300 / full_w
    to_room = {"air": (0.06, 0.13), "blower": (0.09, 0.16), "water": (0.05, 0.11),
               "passive": (0.12, 0.2)}[cooling]  # fmt: skip
    fans = {"air": int(rng.integers(2, 4)), "blower": 1, "water": 1, "passive": 0}[cooling]
    return Cooler(
        cooling=cooling,
        full_w=full_w,
        die_to_block=float(rng.uniform(0.04, 0.1)) * scale**0.5,
        block_to_room=float(rng.uniform(*to_room)) * min(scale, 2.5),
        die_to_hotspot=float(rng.uniform(7, 15)) / full_w,
        capacity_j_per_k=float(rng.uniform(300, 700)),
        fans=fans,
        top_rpm=float(rng.uniform(2200, 4500)),
        room_c=float(rng.uniform(18, 27)),
        rpm_share=(1.0,) * fans,
    )


def one_of(kind: Cooler, rng: Rng) -> Cooler:
    """A sound card of that kind."""
    by = {name: float(np.exp(rng.normal(0, sd))) for name, sd in SPREAD.items()}
    return replace(
        kind,
        die_to_block=kind.die_to_block * by["die_to_block"],
        block_to_room=kind.block_to_room * by["block_to_room"],
        die_to_hotspot=kind.die_to_hotspot * by["die_to_hotspot"],
        rpm_share=tuple(float(rng.normal(1, 0.03)) for _ in range(kind.fans)),
    )


def causes_of(cooling: str) -> tuple[str, ...]:
    """Causes that such a cooler can have."""
    left = {"water": ("fins",), "passive": ("fan", "pump dry")}.get(cooling, ("pump dry",))
    return tuple(cause for cause in CAUSES if cause not in left)


def _fan(card: Cooler, rng: Rng) -> Cooler:
    """One fan stands, or all turn slower than told; the air that is missed heats the block."""
    share = list(card.rpm_share)
    if rng.random() < 0.55:
        share[int(rng.integers(len(share)))] = 0.0
    else:
        slow = float(rng.uniform(0.35, 0.7))
        share = [slow * one for one in share]
    mean = max(sum(share) / len(share), 0.15)
    return replace(
        card, rpm_share=tuple(share), block_to_room=card.block_to_room * min(mean**-0.75, 3.5)
    )


def ail(card: Cooler, cause: str, rng: Rng) -> tuple[Cooler, str]:
    """The card with that cause, and a word for how."""
    if cause == "mount":
        worse = float(rng.uniform(1.6, 4))
        more = float(rng.uniform(1.1, 2.0))
        return replace(card, die_to_block=card.die_to_block * worse,
                       die_to_hotspot=card.die_to_hotspot * more), "loose or tilted"  # fmt: skip
    if cause == "paste in part":
        return replace(card, die_to_block=card.die_to_block * float(rng.uniform(1.0, 1.35)),
                       die_to_hotspot=card.die_to_hotspot * float(rng.uniform(1.7, 3.2))), (
            "part of the die bare")  # fmt: skip
    if cause == "fan":
        return _fan(card, rng), "slow or standing"
    if cause == "fins":
        return replace(card, block_to_room=card.block_to_room * rng.uniform(1.4, 2.6)), "clogged"
    if cause == "flow":
        slow = 1.0 if card.cooling == "water" else float(rng.uniform(1.6, 3.5))
        return replace(card, block_to_room=card.block_to_room * rng.uniform(1.35, 2.4),
                       settles=slow), "little air or water passes"  # fmt: skip
    if cause == "room":
        return replace(card, room_c=float(rng.uniform(32, 42))), "warm"
    if cause == "pump dry":
        stands = rng.random() < 0.5
        share = tuple((0.0 if stands else 1.25) for _ in card.rpm_share)
        return replace(card, block_to_room=float(rng.uniform(0.8, 3)), rpm_share=share), "no flow"
    if cause == "sensor":
        words = ["hotspot stuck", "gpu too low", "hotspot too low", "gpu stuck"]
        words += ["rpm says nought"] if card.fans else []
        word = str(rng.choice(words))
        return replace(card, sensor=word), word
    if cause == "something else":
        odd = ["memory pads", "power reading", "fan curve"]
        word = str(rng.choice(odd if card.fans else odd[:2]))
        if word == "memory pads":
            return replace(card, pads_k=float(rng.uniform(15, 35))), word
        if word == "power reading":
            return replace(card, power_scale=float(rng.choice([0.6, 1.6]))), word
        worse = float(rng.uniform(1.3, 1.8))
        return replace(card, curve_pct=35.0, block_to_room=card.block_to_room * worse), word
    return card, ""
