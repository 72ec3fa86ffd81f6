"""Draw how a bench reads, and read a course with it.

Steps of 1 K or 1/8 K, power as mean of 1 s or 100 ms or as it is at that moment, values late by
up to 1.5 s, held between refreshes, rows left out, polls that jitter, an energy counter with an
arbitrary start: seen in `load_steps.csv` and `whole_runs` (refresh 100 ms, 1 K, 20 and 10 Hz;
the momentary power there aliases with bursts) or asked for by the trade; sizes not seen there
are common practice, no source. Offsets are normal with 1.2 K, at most 3 K, none in one of three.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate

import numpy as np

from .faults import Fault, tach_share, unfolded
from .network import CONTROL_S, STEP_S, Floats, Trace
from .plans import LEAD_S, Load

ROLL_OVER_J = 2.0**32 / 1000.0  # a counter of millijoules in 32 bits


@dataclass(frozen=True)
class Sensors:
    """How this bench reads; times in s, temperatures in K, power in W."""

    period_s: float
    jitter_s: float
    step_k: float
    nearest: bool
    lag_s: float
    late_s: float
    refresh_s: float
    offset_k: float
    noise_k: float
    power_mean_s: float  # 0: as it is at that moment
    power_late_s: float
    power_gain: float
    power_step_w: float
    energy: bool
    energy_start_j: float
    hotspot: bool
    planned: bool
    rpm: float  # of a full fan, 0 where none is read
    percent: bool
    lost_rows: float
    lost_values: float
    stalls_s: tuple[float, ...]
    sensor_fault: str
    seed: int


@dataclass(frozen=True)
class Rows:
    """What the guard sees: one array a value, NaN where a row misses it; None: no such sensor."""

    time_s: Floats
    die_c: Floats
    hotspot_c: Floats | None
    power_w: Floats
    energy_j: Floats | None
    planned_w: Floats | None
    fan_rpm: Floats | None
    fan_percent: Floats | None


def draw_sensors(rng: np.random.Generator, kind: str, sensor_fault: str, end_s: float) -> Sensors:
    """Draw the sensors of a bench whose record lasts `end_s`."""
    period = 1.0 / float(rng.choice([1.0, 2.0, 5.0, 10.0, 10.0, 20.0]))
    lag = float(rng.choice([0.0, rng.uniform(0.05, 0.5), rng.uniform(0.3, 1.0)]))
    fans = kind in ("air", "blower")
    offset = float(np.clip(rng.normal(0.0, 1.2), -3.0, 3.0)) if rng.random() < 0.67 else 0.0
    stalls = tuple(rng.uniform(0.0, end_s, int(rng.integers(0, 3))).tolist())
    mean_s = float(rng.choice([1.0, 0.1, 0.0], p=[0.42, 0.43, 0.15]))
    return Sensors(
        period_s=period, jitter_s=period * float(rng.uniform(0.01, 0.25)),
        step_k=1.0 if rng.random() < 0.75 else 0.125, nearest=bool(rng.random() < 0.5), lag_s=lag,
        late_s=float(rng.choice([0.02, 0.1, rng.uniform(0.1, 1.5 - 0.8 * lag)], p=[0.4, 0.3, 0.3])),
        refresh_s=float(rng.choice([0.02, 0.1, 0.25, 0.5, 1.0], p=[0.25, 0.4, 0.15, 0.1, 0.1])),
        offset_k=offset, noise_k=float(rng.uniform(0.02, 0.45)), power_mean_s=mean_s,
        power_late_s=float(rng.choice([0.0, 0.1, rng.uniform(0.0, 1.0)])),
        power_gain=float(np.clip(rng.normal(1.0, 0.015), 0.95, 1.05)),
        power_step_w=float(rng.choice([0.001, 0.1, 1.0])), energy=bool(rng.random() < 0.55),
        energy_start_j=ROLL_OVER_J - float(rng.uniform(500.0, 30000.0)) if rng.random() < 0.05
        else float(rng.uniform(0.0, 3e6)),
        hotspot=bool(rng.random() < 0.4), planned=bool(rng.random() < 0.55),
        rpm=float(rng.uniform(1800.0, 5000.0)) if fans and rng.random() < 0.7 else 0.0,
        percent=bool(fans and rng.random() < 0.6),
        lost_rows=float(rng.choice([0.0, 0.01, 0.1, 0.5, 0.66], p=[0.45, 0.3, 0.1, 0.1, 0.05]))
        if period < 0.4 else float(rng.choice([0.0, 0.02])),
        lost_values=float(rng.choice([0.0, 0.005, 0.03], p=[0.6, 0.25, 0.15])),
        stalls_s=stalls if rng.random() < 0.3 else (), sensor_fault=sensor_fault,
        seed=int(rng.integers(2**31)),
    )  # fmt: skip


def _lagged(values: Floats, tau_s: float) -> Floats:
    if tau_s <= 0.0:
        return values
    blend = 1.0 - float(np.exp(-STEP_S / tau_s))
    return np.array(list(accumulate(values.tolist(), lambda a, b: a + blend * (b - a))))


def _codes(values: Floats, step: float, nearest: bool) -> Floats:
    return np.asarray((np.floor(values / step + (0.5 if nearest else 0.0))) * step)


def _misread(values: Floats, at: Floats, fault: Fault, rng: np.random.Generator) -> Floats:
    """Apply a fault of the sensor itself to values (°C) of the times `at`."""
    after, s = at >= fault.onset_s, fault.severity
    jumps = rng.random(len(at)) < 0.01 + 0.25 * s
    size = rng.normal(0.0, 2.0 + 18.0 * s, len(at))
    if fault.detail == "sensor_jumping":
        return np.where(after & jumps, values + size, values)
    if fault.detail == "sensor_offset":
        sign = -1.0 if s * 1000.0 % 1.0 < 0.5 else 1.0
        return np.where(after, values + sign * (2.0 + 12.0 * s), values)
    if fault.detail == "sensor_stuck" and after.any():
        held = np.where(after, values[int(np.argmax(after))], values)
        free = s < 0.5  # it lets go again after a while
        gone = at > fault.onset_s + 4.0 + 40.0 * s
        return np.where(gone, values, held) if free else held
    return values


def observe(
    sensors: Sensors, trace: Trace, load: Load, fault: Fault, fans: int, hotspot_c: Floats,
    until_s: float, steps: int,
) -> Rows:  # fmt: skip
    """Read a course up to `until_s`; what is drawn depends on `steps` and the seed, not on it."""
    rng = np.random.default_rng(sensors.seed)
    grid = -LEAD_S + STEP_S * np.arange(1, len(trace.die_c) + 1)
    count = int((steps * STEP_S - LEAD_S) / sensors.period_s)
    begun = sensors.period_s * (np.arange(count, dtype=np.float64) + rng.random())
    polls: Floats = np.sort(np.maximum(begun + rng.normal(0.0, sensors.jitter_s, count), 0.0))
    keep = rng.random(count) >= sensors.lost_rows
    blank = rng.random((2, count)) < sensors.lost_values
    phase, codes = rng.random() * sensors.refresh_s, rng.random()
    slots = rng.normal(0.0, sensors.noise_k, int(steps * STEP_S / sensors.refresh_s) + 2)
    for stall in sensors.stalls_s:
        keep &= ~((polls > stall) & (polls < stall + 1.0 + 3.0 * codes))
    keep &= np.concatenate([[True], np.diff(polls) > 1e-4]) & (polls <= until_s)
    slot = np.floor((polls - phase) / sensors.refresh_s)
    fresh = slot * sensors.refresh_s + phase
    late = sensors.late_s
    more = 1.0 + 5.0 * fault.severity if fault.detail == "sensor_late" else 0.0
    seen_at = fresh - late - np.where(polls >= fault.onset_s, more, 0.0)
    seen_at = np.maximum.accumulate(seen_at)
    noise = slots[np.clip(slot.astype(int) + 1, 0, len(slots) - 1)] + sensors.offset_k

    def temperature(course: Floats, broken: bool) -> Floats:
        values = np.interp(seen_at, grid, _lagged(course, sensors.lag_s)) + noise
        if broken:
            values = _misread(values, polls, fault, np.random.default_rng(sensors.seed + 1))
        return _codes(values, sensors.step_k, sensors.nearest)

    joules = np.concatenate([[0.0], np.cumsum(trace.power_w) * STEP_S])
    edges = np.concatenate([[-LEAD_S], grid])
    refresh = 0.1 if sensors.power_mean_s > 0.0 else 0.05
    power_at = np.floor((polls - phase) / refresh) * refresh + phase - sensors.power_late_s
    window = sensors.power_mean_s or STEP_S
    power = np.interp(power_at, edges, joules) - np.interp(power_at - window, edges, joules)
    power = power / window * sensors.power_gain
    index = np.clip(np.searchsorted(grid, power_at), 0, len(grid) - 1)
    if sensors.power_mean_s == 0.0:
        period, duty = load.burst_s[index], load.duty[index]
        on = np.mod(power_at, np.where(period > 0.0, period, 1.0)) < duty * period
        low = load.request_w.min()
        mean = np.interp(power_at, edges, joules) - np.interp(power_at - 1.0, edges, joules)
        peak = mean / np.clip(duty, 0.2, 1.0)
        power = np.where(period > 0.0, np.where(on, peak, low), power)
    energy = None
    if sensors.energy:
        fresh_at = np.floor(polls / 0.1) * 0.1
        energy = sensors.energy_start_j + sensors.power_gain * np.interp(fresh_at, edges, joules)
        energy = np.round(np.mod(energy, ROLL_OVER_J), 3)
    step = np.clip(((polls + LEAD_S) / CONTROL_S).astype(int), 0, len(trace.fan) - 1)
    asked = trace.fan[step]
    turning = asked * tach_share(fault, fans, unfolded(fault, polls))
    planned = load.planned_w[np.clip(np.searchsorted(grid, polls), 0, len(grid) - 1)]
    # a card that has shut itself off answers nothing more
    gone = polls > (np.inf if trace.off_step is None else grid[trace.off_step])
    power = np.round(power / sensors.power_step_w) * sensors.power_step_w
    die = np.where(blank[0] | gone, np.nan, temperature(trace.die_c, True))
    hot = np.where(blank[0] | gone, np.nan, temperature(hotspot_c, False))
    return Rows(
        time_s=np.round(polls, 4)[keep], die_c=die[keep],
        hotspot_c=hot[keep] if sensors.hotspot else None,
        power_w=np.where(blank[1] | gone, np.nan, power)[keep],
        energy_j=np.where(gone, np.nan, energy)[keep] if energy is not None else None,
        planned_w=np.round(planned, 1)[keep] if sensors.planned else None,
        fan_rpm=np.rint(np.where(gone, np.nan, turning * sensors.rpm))[keep]
        if sensors.rpm else None,
        fan_percent=np.rint(np.where(gone, np.nan, asked * 100.0))[keep]
        if sensors.percent else None,
    )  # fmt: skip
