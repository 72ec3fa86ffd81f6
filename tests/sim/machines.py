"""Scenarios and machines that several tests build."""

from __future__ import annotations

import tomllib
from importlib import resources
from typing import Any

from burnin.engine.job import ArithmeticLoad, Failed, Job, WorkEvent
from burnin.sim.bench import SimulatedBench, simulated_bench
from burnin.sim.files.simulated_files import SimulatedFiles
from burnin.sim.scenario.model import Scenario, scenario_from


def content_of(name: str) -> dict[str, Any]:
    """A ready-made scenario as plain tables, to be changed by a test; `plugged`: with its plug."""
    if name == "plugged":
        content = content_of("healthy")
        content["card"]["power_plugs"] = ["12v2x6"]
        return content
    folder = resources.files("burnin.sim") / "scenarios"
    return tomllib.loads((folder / f"{name}.toml").read_text(encoding="utf-8"))


def with_causes(name: str, *causes: dict[str, Any], **bench: object) -> Scenario:
    """A ready-made scenario with these causes instead of its own."""
    content = content_of(name)
    content["causes"] = [dict(cause) for cause in causes]
    content.setdefault("bench", {}).update(bench)
    return scenario_from(content, "test")


def run_for(bench: SimulatedBench, seconds: float, step_s: float = 0.1) -> list[WorkEvent]:
    """Let time pass with beats; the engine's events."""
    events: list[WorkEvent] = []
    end_s = bench.clock.monotonic_s() + seconds
    while bench.clock.monotonic_s() < end_s - 1e-6:
        bench.engine.beat()
        bench.clock.sleep_s(min(step_s, end_s - bench.clock.monotonic_s()))
        events += bench.engine.poll()
    return events


def work(bench: SimulatedBench, job: Job, at_most_s: float = 600.0) -> list[WorkEvent]:
    """Carry a job out to its last event."""
    bench.engine.begin(job)
    events: list[WorkEvent] = []
    end_s = bench.clock.monotonic_s() + at_most_s
    while bench.clock.monotonic_s() < end_s:
        events += run_for(bench, 0.1)
        if type(events[-1]).__name__.endswith("Result") or isinstance(events[-1], Failed):
            return events
    raise AssertionError(f"the job did not end within {at_most_s} s: {events[-1]}")


def load(bench: SimulatedBench, seconds: float, share: float = 1.0) -> None:
    """Full arithmetic load for that long; it is still on when this returns."""
    bench.engine.begin(ArithmeticLoad(share))
    run_for(bench, seconds)


def bench_of(scenario: str | Scenario, seed: int = 1) -> SimulatedBench:
    """A bench as fast as it goes."""
    return simulated_bench(scenario, seed)


def all_paths(files: SimulatedFiles, folder: str = "/") -> list[str]:
    """Every file below a folder, by its real path, links not followed twice."""
    found: set[str] = set()
    waiting, seen = [folder], set()
    while waiting:
        path = files.resolve(waiting.pop())
        if path in seen:
            continue
        seen.add(path)
        try:
            names = files.list_folder(path)
        except NotADirectoryError:
            found.add(path)
            continue
        waiting += [f"{path.rstrip('/')}/{name}" for name in names]
    return sorted(found)


def snapshot(files: SimulatedFiles) -> dict[str, bytes]:
    """What every file reads now; an error reads as its name."""
    found: dict[str, bytes] = {}
    for path in all_paths(files):
        try:
            found[path] = files.read_bytes(path)
        except OSError as error:
            found[path] = f"error {error.errno}".encode()
    return found


def differing(one: dict[str, bytes], other: dict[str, bytes]) -> set[str]:
    """Last parts of the paths that read differently, with the folder before them."""
    return {
        "/".join(path.rsplit("/", 2)[1:])
        for path in one.keys() | other.keys()
        if one.get(path) != other.get(path)
    }
