"""How soon the card is without work once a stop is asked, by kind of work and moment.

Part of `tests.benchmarks.engine_table`. Stops are asked at moments spread from the start of a job
on, so that taking memory, making kernels and trying ways are among what is stopped. Of a stop that
is not confirmed soon the worker tells in which calls its threads are.
"""

from __future__ import annotations

import contextlib
import os
import re
import signal
import statistics
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

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
from burnin.engine.process.where_asked import FILE_NAMED_BY
from burnin.engine.process.worker_engine import WorkerEngine

FLOOR_MS = 50.0
ASK_AFTER_S = 0.035
"""A stop that is not confirmed by then: the worker is asked where it is."""
CALLS = 8
"""Of each thread, the innermost first."""
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
    where: str = ""
    fresh: bool = False
    """The worker was started for this job."""


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
        for stop in found:
            if stop.where:
                print(f"     {_one(stop)}{' in a fresh worker' * stop.fresh}: {stop.where}")
    if every:
        say("stop to last work, all", *_told(every))


@contextmanager
def telling_where() -> Iterator[None]:
    """Workers that are started inside tell where they are when they are asked."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ[FILE_NAMED_BY] = str(Path(folder) / "where")
        try:
            yield
        finally:
            del os.environ[FILE_NAMED_BY]


@contextmanager
def _asked_where(engine: WorkerEngine, found: list[str]) -> Iterator[None]:
    """Where the worker was, if what is done inside takes long."""
    path, pid = os.environ.get(FILE_NAMED_BY), engine.pid
    if path is None or pid is None:
        yield
        return
    told = Path(path)
    before = told.stat().st_size if told.exists() else 0

    def ask() -> None:
        with contextlib.suppress(ProcessLookupError):
            os.kill(pid, signal.SIGUSR1)

    asks = threading.Timer(ASK_AFTER_S, ask)
    asks.start()
    try:
        yield
    finally:
        asks.cancel()
        asks.join()
        if told.exists() and told.stat().st_size > before:
            found.append(where(told.read_bytes()[before:].decode(errors="replace")))


def where(told: str) -> str:
    """The threads of a traceback by `faulthandler`, each with its innermost calls."""
    threads: list[str] = []
    for text in re.split(r"^(?=Thread |Current thread )", told, flags=re.MULTILINE):
        calls = re.findall(r'File "([^"]*)", line (\d+) in (.*)', text)
        if not calls:
            continue
        listens = any(name == "_listen" for _, _, name in calls)
        shown = (f"{name} ({Path(file).name}:{line})" for file, line, name in calls[:CALLS])
        threads.append(f"{'listening' if listens else 'main'} thread: {' < '.join(shown)}")
    return "; ".join(threads)


def _stopped(engine: WorkerEngine, job: Job, after_s: float) -> Stop:
    before = engine.pid
    engine.begin(job)
    began_s, begun, failed = time.perf_counter(), False, ""
    while time.perf_counter() - began_s < after_s:
        engine.beat()
        begun = begun or any(isinstance(event, Started) for event in engine.poll())
        time.sleep(BEAT_S)
    asked_s = time.perf_counter() - began_s
    fresh, told = engine.pid != before, list[str]()
    with _asked_where(engine, told):
        took_s = engine.stop()
    for event in engine.poll():
        begun = begun or isinstance(event, Started)
        failed = str(event.reason) if isinstance(event, Failed) else failed
    return Stop(asked_s, took_s, begun, failed, "; ".join(told), fresh)


def _one(stop: Stop) -> str:
    told = f"{stop.took_s * 1e3:.1f} ms asked {stop.asked_s:.2f} s after the start, "
    told += "at work" if stop.begun else "before work began"
    return f"{told} ({stop.failed})" if stop.failed else told


def _told(found: list[Stop]) -> tuple[str, str]:
    ordered = sorted(stop.took_s for stop in found)
    p99_s = ordered[min(len(ordered) - 1, int(0.99 * len(ordered)))]
    worst = max(found, key=lambda stop: stop.took_s)
    late = sum(stop.took_s * 1e3 > FLOOR_MS for stop in found)
    told = (
        f"p99 of {len(found)} {p99_s * 1e3:.1f} ms, median {statistics.median(ordered) * 1e3:.1f}, "
        f"worst {_one(worst)}"
    )
    before = sum(not stop.begun for stop in found)
    return told + f"; {before} before work began, {late} late", f"{FLOOR_MS:.0f} ms"
