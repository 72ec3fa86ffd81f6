"""All parts at once: power, what each part reaches beside the others, steps of power, stops.

Part of `tests.benchmarks.engine_table`.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from dataclasses import replace
from typing import Protocol

from burnin.core.errors import BurninError
from burnin.engine.job import (
    LAST_EVENTS,
    AllAtOnce,
    Failed,
    MemoryTest,
    PartFault,
    Progress,
    TogetherResult,
)
from burnin.engine.process.worker_engine import WorkerEngine

PATTERNS = ("pseudo_random", "own_address", "moving_inversions", "checkerboard")
RATES_HZ = ((0.1, 20.0), (1.0, 5.0), (5.0, 3.0), (20.0, 3.0))
BEAT_S = 0.01
STOPS, STOP_WITHIN_S = 50, 0.5

Say = Callable[[str, str, str, str], None]


class PowerSensor(Protocol):
    """What is asked of the card's sensors."""

    limit_w: float

    def __bool__(self) -> bool: ...

    def power_w(self) -> float: ...

    def energy_j(self) -> float: ...


def together(
    say: Say, engine: WorkerEngine, sensors: PowerSensor, free_bytes: int, *, seconds: float,
    quick: bool,
) -> None:  # fmt: skip
    """A line a part and a rate; then the stops."""
    memory = MemoryTest(
        0.9, PATTERNS, free_bytes=free_bytes, max_bytes=0 if free_bytes else 2**24
    )
    whole = _worked(say, "all at once", engine, sensors, AllAtOnce(seconds, memory))
    mix = -1 if whole is None else whole.mix
    for rate_hz, hold_s in RATES_HZ[1:] if quick else RATES_HZ:
        job = AllAtOnce(hold_s, memory, alone_s=0.5, rate_hz=rate_hz, mix=mix)
        _worked(say, f"steps at {rate_hz:g} Hz", engine, sensors, job)
    if whole is not None:
        # a part of the memory: a pass over all of it alone would come before each stop
        part = replace(memory, max_bytes=memory.max_bytes or 2**32)
        _stops(say, engine, AllAtOnce(60.0, part, alone_s=0.1, mix=mix), 6 if quick else STOPS)


def _worked(
    say: Say, name: str, engine: WorkerEngine, sensors: PowerSensor, job: AllAtOnce
) -> TogetherResult | None:
    """Carry it out; power is that of the time in which all worked."""
    engine.begin(job)
    watts: list[float] = []
    first = last = (0.0, 0.0)
    faults: list[PartFault] = []
    works = False
    while True:
        if sensors:
            power_w, now = sensors.power_w(), (time.perf_counter(), sensors.energy_j())
            engine.hear_power(power_w)
            if works:
                watts.append(power_w)
                last = now
                first = first if first[0] else now
        engine.beat()
        for event in engine.poll():
            if isinstance(event, Progress):
                works = True
            elif isinstance(event, PartFault):
                faults.append(event)
            elif isinstance(event, Failed):
                say(name, f"not measured: {event.reason}"[:300], "", "")
                return None
            elif isinstance(event, LAST_EVENTS):
                assert isinstance(event, TogetherResult)
                _tell(say, name, event, faults)
                if watts and last[0] > first[0]:
                    mean_w = (last[1] - first[1]) / (last[0] - first[0])
                    say(
                        f"{name}: power", f"{mean_w:.1f} W by energy, {min(watts):.0f} to "
                        f"{max(watts):.0f} W told", f"limit {sensors.limit_w:.0f} W",
                        f"{mean_w / sensors.limit_w:.3f}",
                    )  # fmt: skip
                return event
        time.sleep(BEAT_S)


def _tell(say: Say, name: str, result: TogetherResult, faults: list[PartFault]) -> None:
    wrong = sum(fault.wrong for fault in faults)
    share = result.worked_s / max(result.seconds, 1e-9)
    say(
        name, f"{wrong} wrong, {result.memory_passes} passes over "
        f"{result.memory_bytes / 1e9:.1f} GB, work {share:.2f}"
        f" of the time, longest slice {result.longest_slice_s * 1e3:.1f} ms, {result.steps} steps,"
        f" mix {result.mix}", "0 wrong", "",
    )  # fmt: skip
    for part in result.parts:
        say(
            f"{name}: {part.part}", f"{part.together_per_s:.4g} a second",
            f"{part.alone_per_s:.4g} alone", f"{part.together_per_s / part.alone_per_s:.3f}",
        )  # fmt: skip


def _stops(say: Say, engine: WorkerEngine, job: AllAtOnce, times: int) -> None:
    """Stops at moments spread over the first half second of work together."""
    took: list[float] = []
    try:
        for number in range(times):
            engine.begin(job)
            until_s: float | None = None
            while until_s is None or time.perf_counter() < until_s:
                engine.beat()
                if until_s is None and any(isinstance(e, Progress) for e in engine.poll()):
                    until_s = time.perf_counter() + STOP_WITHIN_S * (number + 0.5) / times
                time.sleep(0.002)
            took.append(engine.stop())
            engine.poll()
    except BurninError as error:
        say("stop of all at once", f"not measured: {error}"[:300], "", "")
    if took:
        ordered = sorted(took)
        p99_s = ordered[min(len(ordered) - 1, int(0.99 * len(ordered)))]
        say(
            f"stop to last work, all at once, {len(took)} times",
            f"p99 {p99_s * 1e3:.1f} ms, median {statistics.median(took) * 1e3:.1f} ms", "50 ms", "",
        )  # fmt: skip
