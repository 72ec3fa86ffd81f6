"""One course of a bench under its load, and what would have come of a stop."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from .benches import Build
from .faults import Fault
from .network import CONTROL_S, FINE, STEP_S, Drives, Floats, State, Trace, cold_state, run
from .plans import LEAD_S, Load
from .sensors import Rows, Sensors, observe

AFTER_S = 30.0  # how long a card is watched once its load is gone
LEAD = round(LEAD_S / STEP_S) - 1  # index of time 0 among the ends of fine steps


@dataclass(frozen=True)
class Limits:
    """What may not be crossed (°C); the hottest point only where its limit is known."""

    die_c: float
    hotspot_c: float | None


@dataclass(frozen=True)
class Aftermath:
    """What follows a stop decided at `stop_s`: the load is gone at `unloaded_s`."""

    stop_s: float
    unloaded_s: float
    hottest_c: float  # true die, from the stop on
    hottest_hotspot_c: float
    hottest_reading_c: float  # rows from the stop on; NaN where none came
    exceeds: bool  # a limit was crossed by the truth at any time of the record
    rows: Rows


@dataclass(frozen=True)
class Course:
    """All that a run of the physics needs to be taken up again from any moment."""

    build: Build
    load: Load
    fault: Fault
    drives: Drives
    sensors: Sensors
    trace: Trace
    end_s: float
    latency_s: float

    @property
    def grid(self) -> Floats:
        """Give the ends of the fine steps (s)."""
        return np.asarray(-LEAD_S + STEP_S * np.arange(1, len(self.trace.die_c) + 1))


def _part(drives: Drives, begin: int, end: int) -> Drives:
    return Drives(**{f.name: getattr(drives, f.name)[begin:end] for f in fields(Drives)})


def first_state(build: Build, load: Load, drives: Drives) -> State:
    """Give the state at the first step: settled at idle, then what was worked before."""

    def standing(power_w: float, seconds: float) -> Drives:
        n = max(1, round(seconds / CONTROL_S))
        values = {f.name: np.repeat(getattr(drives, f.name)[:1], n, axis=0) for f in fields(Drives)}
        values["request_w"] = np.full((n, FINE), power_w)
        return Drives(**values)

    room, supply = float(drives.room_c[0]), float(drives.supply_c[0])
    state = cold_state(build.network, room, supply, build.idle_w)
    calls = [(build.idle_w, 30.0), (load.before_w, load.before_s)]
    for power, seconds in calls:
        states = run(
            build.network, build.law, build.chip, standing(power, seconds), state, 1
        ).states
        state = states[-1]
    return state


def hotspot(build: Build, drives: Drives, trace: Trace) -> Floats:
    """Give the hottest point (°C): 7 to 15 K over the die at full power, more on a poor mount."""
    fine = len(trace.die_c) // len(drives.mount)
    worse = np.repeat(1.0 + 0.25 * (drives.mount - 1.0), fine)
    excess = build.hotspot_k_w * trace.die_w * worse
    # the excess follows its power within a tenth of a second or two
    smooth = np.convolve(excess, [0.2, 0.3, 0.3, 0.2], mode="full")[: len(excess)]
    smooth[:3] = excess[:3]
    return np.asarray(trace.die_c + smooth)


def crossing(course: Course, limits: Limits) -> tuple[float | None, str]:
    """Give when the truth first leaves its limits under the load never stopped, and which."""
    last = LEAD + round(course.end_s / STEP_S) + 1
    over_die = course.trace.die_c[LEAD:last] > limits.die_c
    times = {"die": int(np.argmax(over_die))} if over_die.any() else {}
    if limits.hotspot_c is not None:
        over = hotspot(course.build, course.drives, course.trace)[LEAD:last] > limits.hotspot_c
        if over.any():
            times["hotspot"] = int(np.argmax(over))
    if not times:
        return None, ""
    which = min(times, key=lambda name: times[name])
    return round(times[which] * STEP_S, 4), which


def _stopped(course: Course, stop_s: float) -> tuple[Trace, Drives, float]:
    """Take the load away `latency_s` after `stop_s` and go on with the physics."""
    gone = stop_s + course.latency_s
    n = round(AFTER_S / CONTROL_S) + 1
    at = min(int((gone + LEAD_S) / CONTROL_S), len(course.trace.states) - n)
    rest = _part(course.drives, at, at + n)
    begins = (-LEAD_S + at * CONTROL_S) + STEP_S * np.arange(n * FINE)
    worked = np.clip((gone - begins) / STEP_S, 0.0, 1.0).reshape(n, FINE)
    idle = course.build.idle_w
    rest = replace(rest, request_w=idle + worked * (rest.request_w - idle))
    start = course.trace.states[at]
    after = run(course.build.network, course.build.law, course.build.chip, rest, start, FINE)
    off = course.trace.off_step
    if off is None or off >= at * FINE:
        off = None if after.off_step is None else after.off_step + at * FINE
    head = at * FINE
    joined = Trace(
        np.concatenate([course.trace.die_c[:head], after.die_c]),
        np.concatenate([course.trace.power_w[:head], after.power_w]),
        np.concatenate([course.trace.die_w[:head], after.die_w]),
        np.concatenate([course.trace.air_c[:head], after.air_c]),
        np.concatenate([course.trace.fan[:at], after.fan]),
        course.trace.states[:at] + after.states, course.trace.heat_out_j, off,
    )  # fmt: skip
    return joined, _part(course.drives, 0, at + n), gone


def stop(course: Course, limits: Limits, stop_s: float) -> Aftermath:
    """Tell what follows a stop decided at `stop_s`, watched for `AFTER_S` from the unloading."""
    joined, drives, gone = _stopped(course, stop_s)
    hot = hotspot(course.build, drives, joined)
    grid = -LEAD_S + STEP_S * np.arange(1, len(joined.die_c) + 1)
    after = grid >= stop_s
    exceeds = bool((joined.die_c[LEAD:] > limits.die_c).any())
    if limits.hotspot_c is not None:
        exceeds |= bool((hot[LEAD:] > limits.hotspot_c).any())
    kept = slice(0, len(joined.die_c))
    quiet = np.where(grid > gone, 0.0, course.load.burst_s[kept])
    planned = np.where(grid > gone, 0.0, course.load.planned_w[kept])
    load = replace(course.load, burst_s=quiet, duty=course.load.duty[kept], planned_w=planned)
    rows = observe(
        course.sensors, joined, load, course.fault, course.build.fans, hot,
        gone + AFTER_S, len(course.trace.die_c),
    )  # fmt: skip
    seen = rows.die_c[rows.time_s >= stop_s]
    seen = seen[np.isfinite(seen)]
    return Aftermath(
        stop_s, gone, float(joined.die_c[after].max()), float(hot[after].max()),
        float(seen.max()) if len(seen) else float("nan"), exceeds, rows,
    )  # fmt: skip


def latest_stop(course: Course, limits: Limits, crossing_s: float | None) -> float | None:
    """Give the latest stop (s) that never leaves the limits; None where none is needed.

    NaN where even a stop at the beginning would not do.
    """
    if crossing_s is None:
        return None

    def holds(stop_s: float) -> bool:
        joined, drives, _ = _stopped(course, stop_s)
        over = joined.die_c[LEAD:] > limits.die_c
        if limits.hotspot_c is not None:
            over = over | (hotspot(course.build, drives, joined)[LEAD:] > limits.hotspot_c)
        return not bool(over.any())

    good, bad = -1, int((crossing_s - course.latency_s) / STEP_S) + 1
    back = 1
    while bad - back > 0 and good < 0:
        if holds((bad - back) * STEP_S):
            good = bad - back
        else:
            bad, back = bad - back, back * 4
    if good < 0:
        if not holds(0.0):
            return float("nan")
        good = 0
    while bad - good > 1:
        middle = (good + bad) // 2
        good, bad = (middle, bad) if holds(middle * STEP_S) else (good, middle)
    return round(good * STEP_S, 4)
