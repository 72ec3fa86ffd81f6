"""A run on a bench that does not say of itself that it is simulated, for what only such a run does.

The files, the clock and the physics are the simulated machine's; whatever tells that is taken away.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from burnin.card.merge import open_bench
from burnin.core.clock import Clock
from burnin.core.opening import EngineDescription
from burnin.core.ticket_header import Ticket
from burnin.engine.engine import Engine
from burnin.profile.loader import LoadedProfile, load_profile, parse_profile
from burnin.record.reader import Record, read_record
from burnin.record.sums import write_checksums
from burnin.run.begin import plan_run
from burnin.run.bench import OpenBench, Options
from burnin.run.proven.shown import ProofAge
from burnin.run.session import carry_out_with_sinks
from burnin.sim.bench import simulated_bench
from burnin.stages.boot import Boot, read_boot

LINK_ALONE = """
format = 1
title = "Link alone"

[guards]
gpu_temp_limit_c = 95.0

[[stages]]
stage = "link"
width_lanes = {lanes}
generation = {generation}
idle_s = 0.5
load_s = 3.0
"""


def link_alone(lanes: int = 16, generation: int = 4) -> LoadedProfile:
    """A profile of the link stage alone."""
    import tomllib

    text = LINK_ALONE.format(lanes=lanes, generation=generation)
    return parse_profile("link_alone", "link_alone.toml", text, tomllib.loads(text))


class _Real:
    """The simulated engine, which says nothing of being simulated."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def description(self) -> EngineDescription:
        return replace(self._engine.description(), simulated=False)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._engine, name)


class _Later:
    """A clock that is some days ahead of another."""

    def __init__(self, clock: Clock, days: float) -> None:
        self._clock, self._ahead = clock, timedelta(days=days)

    def monotonic_s(self) -> float:
        return self._clock.monotonic_s()

    def utc(self) -> datetime:
        return self._clock.utc() + self._ahead

    def sleep_s(self, seconds: float) -> None:
        self._clock.sleep_s(seconds)


def opened(scenario: str | Path, *, boot: str = "", days: float = 0.0) -> OpenBench:
    """The bench opened; `boot` names another boot than its own, `days` is how much later it is."""
    bench = simulated_bench(str(scenario))
    found = open_bench(bench.files, this_machine=False)
    (card,) = found.cards()
    return OpenBench(
        found,
        card,
        card.identity(),
        1,
        _Real(bench.engine),
        _Later(bench.clock, days),
        boot=Boot(boot, 100.0) if boot else read_boot(bench.files),
    )


def run(
    scenario: str | Path,
    results: Path,
    profile: LoadedProfile | str | None = None,
    *,
    boot: str = "",
    days: float = 0.0,
    age: ProofAge = ProofAge(),  # noqa: B008
) -> Record:
    """The record of a run."""
    loaded = load_profile(profile) if isinstance(profile, str) else profile or link_alone()
    bench = opened(scenario, boot=boot, days=days)
    plan = plan_run(bench, loaded, Ticket(), Options(), results, age)
    carry_out_with_sinks(plan)
    write_checksums(plan.folder)
    return read_record(plan.folder)
