"""Cases of heat: a card's steps of power on its cooler, with sensors as bad as benches have.

``heat``: ``steps`` of ``power_w``, ``gpu_c``, ``hotspot_c``, ``memory_c`` (whole degrees, means of
a second, steady; null without that sensor), ``fan_rpm`` by fan (of water the pump; null: not told),
``fan_pct`` asked of the fans; ``die_to_block_k_per_w``, ``block_to_room_k_per_w`` (at the top step,
with the fans as they then turned), ``die_to_hotspot_k_per_w``, ``block_capacity_j_per_k`` as
identified, each [value, standard uncertainty] or null; ``room_c`` (null: nobody measured);
``cooling``; ``known_good`` of cards of the kind by name, each [median, spread, n], or null;
``seconds_to_steady`` to 95 % of the top step.

A card that gets too hot lowers its power: then a step's `power_w` lies below that of the plan.
"""

from __future__ import annotations

import numpy as np

from tests.others.explained.cases import Case, Fault, JsonDict, Seen, Truth
from tests.others.explained.coolers import SPREAD, Cooler, ail, causes_of, draw_kind, one_of

Rng = np.random.Generator
SOUND_SHARE = 0.27
MOST_C = 92.0
MOST_HOTSPOT_C = 110.0


def _fan_pct(card: Cooler, gpu_c: float) -> float:
    return min(max(30 + 1.6 * (gpu_c - 45), 30.0), card.curve_pct)


def _steady(card: Cooler, power_w: float) -> tuple[float, float, float, float]:
    """Block, die, hot spot in °C and fans in %, with the fans following the die."""
    pct = 75.0 if card.fans else 100.0
    block = card.room_c
    for _ in range(25):
        moves = card.fans and card.cooling != "water"
        resistance = card.block_to_room * ((75 / pct) ** 0.6 if moves else 1.0)
        block = card.room_c + resistance * power_w
        die = block + card.die_to_block * power_w
        pct = 0.6 * pct + 0.4 * _fan_pct(card, die)
    return block, die, die + card.die_to_hotspot * power_w, pct


def _allowed_w(card: Cooler, planned_w: float) -> float:
    """The planned power, or what the card lowers itself to."""
    power = planned_w
    for _ in range(60):
        _, die, hotspot, _ = _steady(card, power)
        if die <= MOST_C and hotspot <= MOST_HOTSPOT_C:
            break
        power *= 0.95
    return power


def _step(card: Cooler, power_w: float, has: dict[str, bool], rng: Rng) -> JsonDict:
    block, die, hotspot, pct = _steady(card, power_w)
    memory = block + 18 * power_w / card.full_w + card.pads_k * power_w / card.full_w
    if card.sensor == "hotspot stuck":
        hotspot = 61.0
    if card.sensor == "gpu stuck":
        die = 47.0
    if card.sensor == "gpu too low":
        die -= 14
    if card.sensor == "hotspot too low":
        hotspot = die - 6
    rpm = [card.top_rpm * pct / 100 * share * rng.normal(1, 0.01) for share in card.rpm_share]
    if card.cooling == "water":
        rpm = [card.top_rpm * share * rng.normal(1, 0.01) for share in card.rpm_share]
    if card.sensor == "rpm says nought":
        rpm[0] = 0.0

    def degrees(value: float) -> int:
        return int(np.floor(value + rng.normal(0, 0.35)))

    return {
        "power_w": round(power_w * card.power_scale * float(rng.normal(1, 0.01)), 1),
        "gpu_c": degrees(die),
        "hotspot_c": degrees(hotspot) if has["hotspot"] else None,
        "memory_c": degrees(memory) if has["memory"] else None,
        "fan_rpm": [round(one / 10) * 10 for one in rpm] if has["rpm"] and rpm else None,
        "fan_pct": round(pct) if card.fans and has["pct"] else None,
    }


def _identified(value: float, rng: Rng) -> list[float]:
    """An identified value; its uncertainty is told honestly within a third."""
    relative = float(rng.uniform(0.03, 0.1))
    told = relative * float(rng.uniform(0.7, 1.3))
    found = value * float(np.exp(rng.normal(0, relative)))
    return [round(found, 5), round(abs(found) * told, 5)]


def _seen_resistances(card: Cooler, top: JsonDict, rng: Rng) -> dict[str, list[float] | None]:
    """Resistances as someone identifies them from what the sensors say, so with their faults."""
    power = max(float(top["power_w"]) / card.power_scale, 1.0)
    block, die, _, _ = _steady(card, power)
    to_block, to_hotspot = card.die_to_block, card.die_to_hotspot
    if card.sensor in ("gpu stuck", "gpu too low"):
        seen = 47.0 if card.sensor == "gpu stuck" else die - 14
        to_block = max(seen - block, 0.2) / power
        to_hotspot += (die - seen) / power
    if card.sensor == "hotspot too low":
        to_hotspot = -6 / power
    if card.sensor == "hotspot stuck":
        to_hotspot = (61.0 - die) / power
    scale = card.power_scale
    return {
        "die_to_block_k_per_w": _identified(to_block / scale, rng),
        "block_to_room_k_per_w": _identified((block - card.room_c) / power / scale, rng),
        "die_to_hotspot_k_per_w": _identified(to_hotspot / scale, rng)
        if top["hotspot_c"] is not None
        else None,
        "block_capacity_j_per_k": _identified(card.capacity_j_per_k * scale, rng),
    }


def _known_good(kind: Cooler, rng: Rng) -> JsonDict:
    """What sound cards of the kind gave."""
    count = int(rng.integers(2, 15))
    cards = [one_of(kind, rng) for _ in range(count)]
    powers = [_allowed_w(card, card.full_w) for card in cards]
    rooms = [_steady(card, power) for card, power in zip(cards, powers, strict=True)]
    values = {
        "die_to_block_k_per_w": [card.die_to_block for card in cards],
        "block_to_room_k_per_w": [
            (room[0] - card.room_c) / power
            for card, room, power in zip(cards, rooms, powers, strict=True)
        ],
        "die_to_hotspot_k_per_w": [card.die_to_hotspot for card in cards],
    }
    least = {"die_to_block_k_per_w": SPREAD["die_to_block"], "block_to_room_k_per_w": 0.08}
    return {
        name: [
            round(float(np.median(found)), 5),
            round(max(float(np.std(found)), least.get(name, 0.1) * 0.5 * float(np.mean(found))), 5),
            count,
        ]
        for name, found in values.items()
    }


def draw_heat_case(rng: Rng) -> Case:
    """One case; more than one in four is sound."""
    kind = draw_kind(rng)
    causes = causes_of(kind.cooling)
    sound = rng.random() < SOUND_SHARE
    left = [name for name in causes if name != "sound"]
    left += ["pump dry"] * 3 if "pump dry" in left else []
    cause = "sound" if sound else str(rng.choice(left))
    card, word = ail(one_of(kind, rng), cause, rng)
    needs_hotspot = cause == "paste in part" or card.sensor.startswith("hotspot")
    has = {
        "hotspot": needs_hotspot or rng.random() < 0.85,
        "memory": word == "memory pads" or rng.random() < 0.7,
        "rpm": cause in ("fan",) or card.sensor == "rpm says nought" or rng.random() < 0.8,
        "pct": rng.random() < 0.9,
    }
    shares = np.linspace(0.3, 1.0, int(rng.integers(3, 6)))
    steps = [_step(card, _allowed_w(card, card.full_w * float(s)), has, rng) for s in shares]
    resistance = _seen_resistances(card, steps[-1], rng)
    tau_s = card.capacity_j_per_k * (resistance["block_to_room_k_per_w"] or [0.1])[0]
    told = cause == "room" or rng.random() < 0.75
    heat = {
        "steps": steps,
        **resistance,
        "room_c": round(card.room_c + float(rng.normal(0, 0.5)), 1) if told else None,
        "cooling": card.cooling,
        "known_good": _known_good(kind, rng) if rng.random() < 0.5 else None,
        "seconds_to_steady": round(3 * tau_s * card.settles * float(rng.normal(1, 0.08))),
    }
    fault = Fault("sound") if sound else Fault("heat", effect=word)
    truth = Truth(fault, None, (), not sound, {"cause": cause})
    return Case("heat", None, Seen(heat=heat), truth)
