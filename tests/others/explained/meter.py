"""What a meter shows of a contact before power. Values are common practice, no source."""

from __future__ import annotations

from functools import cache

import numpy as np

from burnin.connector.contact_map import contacts
from burnin.connector.other_connectors import plug_contacts
from tests.others.explained.cases import Fault, Reading

Rng = np.random.Generator
ON_CARD = ("contact", "gouge", "joint", "clock", "reset", "presence", "ground", "supply contact",
           "sense line", "output")  # fmt: skip
"""Kinds whose contacts a meter on the bare card can find."""


@cache
def _group(point: str) -> str:
    if point.startswith("supply_"):
        return "rail"
    return plug_contacts()[point].group if "/" in point else contacts()[point].group


def _sound(point: str, volts: float, rng: Rng) -> Reading:
    """A sound contact; `volts` is this card's diode drop of a lane."""
    group = _group(point)
    near = float(np.round(abs(rng.normal(0.3, 0.12)), 1))
    diode = float(np.round(volts + rng.normal(0, 0.006), 3))
    if group == "rail":
        return Reading(point, float(np.round(10 ** rng.uniform(0.7, 2.5), 1)), modes=("ohm",))
    if group == "lane_tx":
        return Reading(point, near, diode)
    if group in ("lane_rx", "clock", "main_lane", "alternate_pair", "main_clock"):
        return Reading(point, volt_diode=diode, modes=("volt_diode",))
    if group in ("ground", "power_12v", "power_3v3", "presence_detect"):
        return Reading(point, near, modes=("ohm",))
    return Reading(point, float(np.round(10 ** rng.uniform(3.3, 4.6))), modes=("ohm",))


def _faulty(sound: Reading, effect: str, rng: Rng) -> Reading:
    """The same contact with its fault; a poor one now and then looks sound under the needle."""
    modes = sound.modes
    if effect in ("open", "open both"):
        if rng.random() < 0.03:
            return sound
        diode = sound.volt_diode if "ohm" in modes else None
        return Reading(sound.point, None, diode, modes)
    if effect == "short":
        if _group(sound.point) == "lane_tx":
            return Reading(sound.point, sound.ohm, 0.002, modes)
        return Reading(sound.point, 0.3, 0.002, modes)
    if rng.random() < 0.25:
        return sound
    extra = float(np.round(10 ** rng.uniform(0.4, 2.2), 1))
    ohm = None if sound.ohm is None else sound.ohm + extra
    diode = sound.volt_diode
    if "ohm" not in modes and diode is not None:
        diode = float(np.round(diode + 0.001 * extra, 3))
    return Reading(sound.point, ohm, diode, modes)


def measured(faults: list[Fault], points: list[str], rng: Rng) -> tuple[Reading, ...]:
    """Those points with a meter, the card bare and cold."""
    volts = float(rng.uniform(0.32, 0.55))
    found = []
    for point in dict.fromkeys(points):
        reading = _sound(point, volts, rng)
        for fault in faults:
            if fault.kind == "rail short" and point == fault.effect:
                reading = Reading(point, float(np.round(rng.uniform(0.05, 1.5), 2)), modes=("ohm",))
            hit = fault.kind in ON_CARD and point in fault.contacts
            hides = fault.kind == "joint" and fault.warm_only and rng.random() < 0.8
            if hit and not hides:
                reading = _faulty(reading, fault.effect, rng)
        found.append(reading)
    return tuple(found)


def draw_readings(faults: list[Fault], named: list[str], rng: Rng) -> tuple[Reading, ...]:
    """Readings of three cases in ten: rails, what the ticket names, some lanes at random."""
    if rng.random() > 0.3:
        return ()
    points = ["supply_12v", "supply_3v3"] if rng.random() < 0.6 else []
    points += [name for name in named if rng.random() < 0.8]
    lanes = [c.name for c in contacts().values() if c.lane is not None]
    if rng.random() < 0.5:
        points += [str(n) for n in rng.choice(lanes, rng.integers(2, 13), replace=False)]
    if rng.random() < 0.25:
        points += [name for fault in faults for name in fault.contacts]
    if rng.random() < 0.2:
        points += ["A1", "A11", "A13", "A14"]
    return measured(faults, points, rng)
