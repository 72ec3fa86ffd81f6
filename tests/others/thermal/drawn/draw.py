"""Draw a whole scenario: bench, load, fault, sensors, limit and truth, from a seed alone."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from .course import LEAD, Aftermath, Course, Limits, crossing, hotspot, latest_stop, stop
from .faults import dry_fault, make_drives
from .network import FINE, STEP_S, Floats, run
from .sensors import Rows, observe
from .settle import reserve, settle

FAULTY = 0.55


@dataclass(frozen=True)
class Bench:
    """What a bench knows beforehand: the technician's word on cooling, fans, limits."""

    told_cooling: str  # air, blower, passive, water, dry, unknown
    has_fans: bool | None
    limit_c: float
    hotspot_limit_c: float | None
    power_limit_w: float | None


@dataclass(frozen=True)
class Truth:
    """What was so: for the judge alone."""

    kind: str  # air, blower, stream, open_water, loop, dry
    style: str
    held: bool
    cause: str  # none, clogged, fan, flow, dry, mount, room, sensor, unknown
    detail: str
    severity: float
    grade: str
    onset_s: float | None  # 0: from the start
    time_s: Floats
    die_c: Floats
    hotspot_c: Floats
    power_w: Floats
    crossing_s: float | None
    crossing_by: str
    reading_crossing_s: float | None  # the first row over a limit, the load never stopped
    latest_stop_s: float | None
    off_s: float | None  # the card shut itself off
    stop_latency_s: float
    offset_k: float
    throttled: bool
    power_limited: bool


@dataclass(frozen=True)
class Scenario:
    """One record, what its bench knew and what was true."""

    seed: int
    rows: Rows
    bench: Bench
    truth: Truth
    course: Course = field(repr=False)

    def stopped_at(self, stop_s: float) -> Aftermath:
        """Continue the physics after a stop decided at `stop_s`."""
        return stop(self.course, Limits(self.bench.limit_c, self.bench.hotspot_limit_c), stop_s)


def _told(
    rng: np.random.Generator, kind: str, sound: bool, crosses: bool
) -> tuple[str, bool | None]:
    words = {"stream": "passive", "open_water": "water", "loop": "water"}
    if kind == "dry":
        # a gentle step on a block told as dry is sound; not told, or too much, it is at fault
        dry = 1.0 if sound else 0.4 if crosses else 0.0
        wet = (1.0 - dry) * 0.6
        return str(rng.choice(["dry", "water", "unknown"], p=[dry, wet, 1.0 - dry - wet])), False
    word = "unknown" if rng.random() < 0.15 else words.get(kind, kind)
    return word, (None if word == "unknown" else kind in ("air", "blower"))


def scenario(seed: int) -> Scenario:
    """Draw the scenario of `seed`: the same for the same seed."""
    rng = np.random.default_rng([20270, seed])
    faulty = bool(rng.random() < FAULTY)
    draft, limit, crosses = settle(rng, faulty)
    build, fault, sensors = draft.build, draft.fault, draft.sensors
    physical = fault if build.kind != "dry" else dry_fault(1.0)
    drives = make_drives(np.random.default_rng(draft.world), build, draft.load, physical)
    trace = run(build.network, build.law, build.chip, drives, draft.start, FINE)
    course = Course(build, draft.load, fault, drives, sensors, trace, draft.end_s,
                    round(float(rng.uniform(0.05, 0.8)), 3))  # fmt: skip
    hotspot_limit = None
    if sensors.hotspot and rng.random() < 0.6:
        base = draft.sound_hot_c if crosses else max(draft.sound_hot_c, draft.faulty_hot_c)
        margin = reserve(rng, draft)
        hotspot_limit = float(np.ceil(max(base + margin, limit + rng.uniform(6.0, 18.0))))
    limits = Limits(limit, hotspot_limit)
    when, which = crossing(course, limits)
    hot = hotspot(build, drives, trace)
    steps = len(trace.die_c)
    rows = observe(sensors, trace, draft.load, fault, build.fans, hot, draft.end_s, steps)
    told, fans = _told(rng, build.kind, not faulty, when is not None)
    bench = Bench(told, fans, limit, hotspot_limit,
                  build.rated_w if rng.random() < 0.8 else None)  # fmt: skip
    truth = _truth(course, limits, rows, hot, when, which)
    return Scenario(seed, rows, bench, truth, course)


def _truth(
    course: Course, limits: Limits, rows: Rows, hot: Floats, when: float | None, which: str
) -> Truth:
    over = rows.die_c > limits.die_c
    if limits.hotspot_c is not None and rows.hotspot_c is not None:
        over = over | (rows.hotspot_c > limits.hotspot_c)
    part = slice(LEAD, LEAD + round(course.end_s / STEP_S) + 1)
    trace = course.trace
    fault, chip = course.fault, course.build.chip
    off = None if trace.off_step is None else float(course.grid[trace.off_step])
    return Truth(
        kind=course.build.kind, style=course.load.style, held=chip.held, cause=fault.cause,
        detail=fault.detail, severity=fault.severity, grade=fault.grade,
        onset_s=None if fault.cause == "none" else fault.onset_s,
        time_s=course.grid[part], die_c=trace.die_c[part], hotspot_c=hot[part],
        power_w=trace.power_w[part], crossing_s=when, crossing_by=which,
        reading_crossing_s=float(rows.time_s[np.argmax(over)]) if over.any() else None,
        latest_stop_s=latest_stop(course, limits, when),
        off_s=off if off is not None and off <= course.end_s else None,
        stop_latency_s=course.latency_s, offset_k=course.sensors.offset_k,
        throttled=bool(min(s.gate for s in trace.states) < 0.97) and off is None,
        power_limited=bool((trace.power_w[part] > chip.limit_w - 0.01).mean() > 0.02),
    )  # fmt: skip
