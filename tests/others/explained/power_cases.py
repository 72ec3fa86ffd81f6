"""Cases of power: supply contact, sense line, a sagging supply unit, a limit set low, or sound."""

from __future__ import annotations

import numpy as np

from tests.others.explained.cases import Case, Fault, Seen, Truth
from tests.others.explained.edge import SLOT_12V
from tests.others.explained.meter import measured
from tests.others.explained.supply import Plug, draw_plug, draw_supply, supply_shows
from tests.others.explained.tickets import draw_ticket

Rng = np.random.Generator
CAUSES = (
    "sound", "supply contact", "sense line", "supply unit sags", "power limit set low",
    "something else",
)  # fmt: skip
SHARES = (0.27, 0.26, 0.13, 0.15, 0.13, 0.06)
STRANGE = ("supply brake held", "meter of power lies")


def _fault(cause: str, plug: Plug, rng: Rng) -> Fault:
    if cause == "supply contact":
        own = tuple(f"{plug.name}/{n + 1}" for n in range(plug.count))
        group = own if rng.random() < 0.6 else SLOT_12V
        count = int(rng.integers(1, 3))
        names = tuple(sorted(str(n) for n in rng.choice(group, count, replace=False)))
        return Fault("supply contact", names, effect="open" if rng.random() < 0.6 else "resistive")
    if cause == "sense line":
        lines = {"6pin": ["5"], "8pin": ["4", "6"], "12v2x6": ["S3", "S4"]}[plug.name]
        return Fault("sense line", (f"{plug.name}/{rng.choice(lines)}",), effect="open")
    if cause == "supply unit sags":
        return Fault("supply unit", effect="sags")
    if cause == "power limit set low":
        return Fault("power limit", effect="set low")
    if cause == "something else":
        return Fault("something else", effect=str(rng.choice(STRANGE)))
    return Fault("sound")


def draw_power_case(rng: Rng) -> Case:
    """One case; more than one in four is sound."""
    cause = str(rng.choice(CAUSES, p=SHARES))
    plug = draw_plug(rng)
    fault = _fault(cause, plug, rng)
    faults = [] if cause == "sound" else [fault]
    supply = draw_supply(plug, fault, rng, set_low=cause == "power limit set low")
    points = ["supply_12v"] if rng.random() < 0.5 else []
    if rng.random() < 0.3:
        points += [f"{plug.name}/{n + 1}" for n in range(plug.count)]
    if rng.random() < 0.3:
        points += list(SLOT_12V)
    if rng.random() < 0.2 and plug.name != "6pin":
        points += [f"{plug.name}/{n}" for n in (["S3", "S4"] if plug.count == 6 else ["4", "6"])]
    ticket, elsewhere = draw_ticket(faults, rng)
    absent = cause == "sense line" and plug.name != "12v2x6" and rng.random() < 0.2
    seen = Seen(
        absent=absent,
        beeps=None,
        before_power=measured(faults, points, rng),
        ticket=ticket,
        supply=None if absent else supply,
    )
    odd = ("ticket elsewhere",) if elsewhere else ()
    by_meter = any(reading.point in fault.contacts for reading in seen.before_power)
    shown = by_meter or absent or supply_shows(plug, fault, supply)
    truth = Truth(fault, None, odd, shown, {"cause": cause})
    return Case("power", None, seen, truth)
