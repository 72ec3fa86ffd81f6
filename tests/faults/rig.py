"""A run of a simulated card whose work is done by a real worker process, on software Vulkan.

Sensors, link and counters are the simulated machine's, in real time; the load is real, and so are
its supervisor, its worker and the pipe between them. `RigEngine` claims the card's address, as an
engine of a card would.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from burnin.card.answers_in_time import Patience, answering_in_time
from burnin.card.merge import open_bench
from burnin.core.events import Event, RunFinished
from burnin.core.opening import EngineDescription
from burnin.core.ticket_header import Ticket
from burnin.engine.process.worker_engine import WorkerEngine
from burnin.profile.loader import load_profile
from burnin.record.writer import RecordWriter
from burnin.run.begin import plan_run
from burnin.run.bench import OpenBench, Options
from burnin.run.plan import RunOutcome
from burnin.run.session import carry_out_with_sinks
from burnin.sim.bench import simulated_bench

PROFILE = Path(__file__).parent / "profiles" / "worked.toml"
SOFTWARE = ("--engine", "vulkan", "--software")


class RigEngine(WorkerEngine):
    """A worker that works the bench's processor and says that it is the card."""

    def __init__(self, arguments: Sequence[str], address: str) -> None:
        self._address = address
        super().__init__(arguments)

    def description(self) -> EngineDescription:
        return replace(super().description(), address=self._address)


class HangingFiles:
    """The machine's files; while `hang` is set, who reads one waits."""

    def __init__(self, files: Any, hang: threading.Event) -> None:
        self._files, self._hang = files, hang

    def __getattr__(self, name: str) -> Any:
        return getattr(self._files, name)

    def read_bytes(self, path: str, limit: int = 1 << 20) -> bytes:
        while self._hang.is_set():
            time.sleep(0.01)
        found: bytes = self._files.read_bytes(path, limit)
        return found


@dataclass(frozen=True)
class RigRun:
    """How the run ended, its record, and at which monotonic second each event was on record."""

    outcome: RunOutcome
    folder: Path
    events: tuple[tuple[float, Event], ...]

    def closed_s(self) -> float:
        """When the record was closed."""
        (closed,) = [at_s for at_s, event in self.events if isinstance(event, RunFinished)]
        return closed


def run_on_rig(
    results: Path,
    on_event: Callable[[Event, WorkerEngine], None],
    *,
    arguments: Sequence[str] = SOFTWARE,
    hang: threading.Event | None = None,
    stop_asked: Callable[[], bool] = lambda: False,
) -> RigRun:
    """Carry out `PROFILE`; `on_event` sees each event right after the record."""
    made = simulated_bench("healthy_x8", 1, 1.0)
    files = HangingFiles(made.files, hang or threading.Event())
    bench = open_bench(files, this_machine=False, simulated=True)
    (card,) = bench.cards()
    timed = answering_in_time(card, made.clock, Patience())
    identity = timed.identity()
    engine = RigEngine(arguments, identity.address)
    opened = OpenBench(
        bench, timed, identity, 1, engine, made.clock, scenario=made.scenario,
        attached=frozenset(),
    )  # fmt: skip
    options = Options(simulated="healthy_x8", pace=1.0)
    plan = plan_run(opened, load_profile(str(PROFILE)), Ticket(), options, results)
    plan = replace(plan, stop_asked=stop_asked)
    events: list[tuple[float, Event]] = []
    writer = RecordWriter(plan.folder, made.clock, plan.start_s, simulated=True)

    class Watched:
        name = "record"

        def __call__(self, event: Event) -> None:
            writer(event)
            events.append((time.monotonic(), event))
            on_event(event, engine)

        def close(self) -> None:
            writer.close()

    outcome = carry_out_with_sinks(plan, (), Watched())
    return RigRun(outcome, plan.folder, tuple(events))
