"""How soon the card is without work once a stop is asked, by kind of work and moment.

Part of `tests.benchmarks.engine_table`. Stops are asked at moments spread from the start of a job
on, so that taking memory, making kernels and trying ways are among what is stopped.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass

from burnin.core.errors import BurninError
from burnin.engine.device.patterns import FAMILIES
from burnin.engine.job import (
    ArithmeticLoad,
    Failed,
    Job,
    LinkTraffic,
    MemoryTest,
    RepeatedCompute,
    Started,
)
from burnin.engine.process.worker_engine import WorkerEngine

FLOOR_MS = 50.0
LONG_S = 60.0
BEAT_S = 0.01

Say = Callable[[str, str, str], None]


@dataclass(frozen=True)
class Stop:
    """A stop: asked so long after the job was ordered, done so much later."""

    asked_s: float
    took_s: float
    begun: bool
    failed: str


@dataclass(frozen=True)
class Kind:
    """A kind of work: how often it is stopped, in the first `within_s` seconds."""

    name: str
    job: Job
    times: int
    within_s: float


def kinds(free_bytes: int, *, quick: bool) -> tuple[Kind, ...]:
    """All kinds of work that there are."""
    often, seldom = (6, 4) if quick else (36, 12)
    cap = 0 if free_bytes else 2**26
    memory = MemoryTest(0.95, tuple(FAMILIES), passes=100, free_bytes=free_bytes, max_bytes=cap)
    return (
        Kind("full load", ArithmeticLoad(1.0), often, 1.2),
        Kind("memory", memory, seldom, 1.6),
        Kind("compute", RepeatedCompute(LONG_S), seldom, 0.6),
        *(
            Kind(f"link {way.replace('_', ' ')}", LinkTraffic(LONG_S, way), seldom, 1.2)
            for way in ("to_card", "to_host", "both")
        ),
    )


def stops(say: Say, engine: WorkerEngine, free_bytes: int, *, quick: bool) -> None:
    """A line a kind, then one of all."""
    every: list[Stop] = []
    for kind in kinds(free_bytes, quick=quick):
        try:
            found = [
                _stopped(engine, kind.job, kind.within_s * (number + 0.5) / kind.times)
                for number in range(kind.times)
            ]
        except BurninError as error:
            say(f"stop of {kind.name}", f"not measured: {error}"[:300], "")
            continue
        every += found
        say(f"stop to last work, {kind.name}", *_told(found))
    if every:
        say("stop to last work, all", *_told(every))


def _stopped(engine: WorkerEngine, job: Job, after_s: float) -> Stop:
    engine.begin(job)
    began_s, begun, failed = time.perf_counter(), False, ""
    while time.perf_counter() - began_s < after_s:
        engine.beat()
        begun = begun or any(isinstance(event, Started) for event in engine.poll())
        time.sleep(BEAT_S)
    asked_s = time.perf_counter() - began_s
    took_s = engine.stop()
    for event in engine.poll():
        begun = begun or isinstance(event, Started)
        failed = str(event.reason) if isinstance(event, Failed) else failed
    return Stop(asked_s, took_s, begun, failed)


def _told(found: list[Stop]) -> tuple[str, str]:
    ordered = sorted(stop.took_s for stop in found)
    p99_s = ordered[min(len(ordered) - 1, int(0.99 * len(ordered)))]
    worst = max(found, key=lambda stop: stop.took_s)
    where = "at work" if worst.begun else "before work began"
    late = sum(stop.took_s * 1e3 > FLOOR_MS for stop in found)
    told = (
        f"p99 of {len(found)} {p99_s * 1e3:.1f} ms, median {statistics.median(ordered) * 1e3:.1f}, "
        f"worst {worst.took_s * 1e3:.1f} ms asked {worst.asked_s:.2f} s after the start, {where}"
    )
    if worst.failed:
        told += f" ({worst.failed})"
    before = sum(not stop.begun for stop in found)
    return told + f"; {before} before work began, {late} late", f"{FLOOR_MS:.0f} ms"
