"""Draw bench, load and fault until a limit can be put where the scenario wants it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .benches import KINDS, SHARES, Build, draw_build
from .course import AFTER_S, LEAD, first_state, hotspot
from .faults import SOUND, Fault, draw_fault, draw_kind_of_fault, dry_fault, make_drives
from .network import FINE, STEP_S, State, run
from .plans import LEAD_S, STYLE_SHARES, STYLES, Load, draw_load
from .sensors import Sensors, draw_sensors

WISHED_CROSSINGS = 0.72
HOTTEST_LIMIT_C = 105.0


@dataclass(frozen=True)
class Draft:
    """A bench under its load, screened coarsely: what it and its sound twin reach (°C)."""

    build: Build
    load: Load
    fault: Fault
    sensors: Sensors
    end_s: float
    start: State
    world: int
    sound_c: float
    faulty_c: float
    sound_hot_c: float
    faulty_hot_c: float
    around_c: float  # what an idle card stands at when all around it is at its warmest


def _span(load: Load) -> float:
    return round(len(load.request_w) * STEP_S - LEAD_S - AFTER_S - 2.0, 4)


def _hottest(build: Build, load: Load, fault: Fault, world: int, end: float) -> tuple[float, float]:
    drives = make_drives(np.random.default_rng(world), build, load, fault)
    trace = run(build.network, build.law, build.chip, drives, first_state(build, load, drives), 1)
    last = (LEAD + 1 + round(end / STEP_S)) // FINE
    first = (LEAD + 1) // FINE
    hot = hotspot(build, drives, trace)
    return float(trace.die_c[first:last].max()), float(hot[first:last].max())


def _draft(
    rng: np.random.Generator, kind: str, what: tuple[str, str, int] | None, gentle: bool,
    cooler: float,
) -> Draft:  # fmt: skip
    held = bool(rng.random() < 0.5) or gentle
    build = draw_build(rng, kind, held, 1.0 if gentle else cooler)
    style = str(rng.choice(STYLES, p=STYLE_SHARES))
    top = build.rated_w * float(rng.choice([1.0, 1.12, rng.uniform(0.55, 1.0)]))
    if gentle:
        # a small step for a bare block: so many kelvin in so many seconds, no more
        style = str(rng.choice(["stairs", "hold", "ramp", "sudden"]))
        top = float(rng.uniform(25.0, 75.0)) * cooler**2
    idle = min(build.idle_w, top * 0.5)
    load = draw_load(rng, style, top, idle, held, AFTER_S + 2.0)
    end = _span(load)
    fault = draw_fault(rng, what, end) if what else SOUND
    sensor = fault.detail if fault.cause == "sensor" else ""
    sensors, world = draw_sensors(rng, kind, sensor, end), int(rng.integers(2**31))
    physical = fault if kind != "dry" else dry_fault(1.0)
    hot, hot_spot = _hottest(build, load, physical, world, end)
    twin = hot, hot_spot
    if kind == "dry":
        twin = 0.0, 0.0  # such a block has no sound twin: its limit may lie anywhere
    elif fault.cause not in ("none", "sensor"):
        twin = _hottest(build, load, SOUND, world, end)
    drives = make_drives(np.random.default_rng(world), build, load, physical)
    net = build.network
    around = float(drives.room_c.max()) + net.host_w / net.chassis_w_k + 10.0
    if net.open_supply:
        around = float(drives.supply_c.max()) + 10.0
    start = first_state(build, load, drives)
    return Draft(
        build, load, fault, sensors, end, start, world, twin[0], hot, twin[1], hot_spot, around
    )


def reserve(rng: np.random.Generator, draft: Draft) -> float:
    """Draw how far a limit lies over what is reached, the sensor's own error counted in."""
    part = rng.random()
    margin = rng.uniform(0.2, 4.0) if part < 0.25 else rng.uniform(3.0, 14.0)
    margin = rng.uniform(12.0, 45.0) if part > 0.7 else margin
    own = max(0.0, draft.sensors.offset_k) + 0.6 * draft.sensors.step_k
    own += 2.5 * draft.sensors.noise_k
    return float(margin + own)


def _limit(rng: np.random.Generator, draft: Draft, crosses: bool) -> float | None:
    """Choose a limit between the sound card and the faulty one, or over both."""
    if not crosses:
        low = max(draft.sound_c, draft.faulty_c)
        own = low + reserve(rng, draft)
        if low > HOTTEST_LIMIT_C - 4.0:
            return None
        return float(np.ceil(min(max(own, 50.0), max(HOTTEST_LIMIT_C, low + 6.0))))
    low = draft.sound_c + 0.8
    if draft.fault.cause == "sensor":
        low = draft.faulty_c - 25.0  # a limit set by hand under what the ramp would reach
    # nobody loads a card that stands at its limit already, or would without any load
    low = max(low, draft.start.die + 4.0, draft.around_c, 42.0)
    high = min(draft.faulty_c - 0.6, HOTTEST_LIMIT_C)
    if high - low < 0.4:
        return None
    common = max(low, 75.0), min(high, 95.0)
    if common[1] - common[0] > 1.0 and rng.random() < 0.55:
        low, high = common
    value = float(rng.uniform(low, high))
    return float(np.ceil(value)) if np.ceil(value) <= high else round(value, 1)


def settle(rng: np.random.Generator, faulty: bool) -> tuple[Draft, float, bool]:
    """Draw until a limit fits: give the draft, its limit (°C) and whether it is to be crossed."""
    kind = str(rng.choice(KINDS, p=SHARES))
    what = draw_kind_of_fault(rng, kind) if faulty else None
    wished = faulty and bool(rng.random() < WISHED_CROSSINGS)
    if what and what[0] == "sensor":
        wished = bool(rng.random() < 0.3)
    cooler = 1.0
    for attempt in range(24):
        gentle = kind == "dry" and not wished
        draft = _draft(rng, kind, what, gentle, cooler)
        limit, crosses = None, wished
        if draft.sound_c > 97.0 or (gentle and draft.faulty_c > 97.0):
            cooler *= 0.8
            continue
        limit = _limit(rng, draft, crosses)
        if limit is None and attempt > 4 and faulty:
            crosses = not crosses
            limit = _limit(rng, draft, crosses)
        if limit is not None:
            return draft, limit, crosses
    raise RuntimeError("no limit fits this bench")
