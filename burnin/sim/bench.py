"""A simulated bench in one piece: files, clock and engine that share one machine."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from burnin.card.recording.recorded_files import RecordedFiles, holds_recording
from burnin.core.clock import WallClock
from burnin.core.reading import NotMeasured
from burnin.run.bench import BenchSource
from burnin.sim.bench_shown import bench_shown
from burnin.sim.clock import SimulatedClock
from burnin.sim.engine.engine import SimulatedEngine
from burnin.sim.engine.meanings import SimReason
from burnin.sim.files.simulated_files import SimulatedFiles
from burnin.sim.physics.kernel_says import CARD
from burnin.sim.physics.machine import Machine
from burnin.sim.practise.exercise import drawn_by_name, is_practise
from burnin.sim.scenario.model import Scenario, load_scenario
from burnin.sim.scenario.several import bench_named
from burnin.sim.several_cards import open_several
from burnin.sim.technician import SimulatedTechnician


@dataclass(frozen=True)
class SimulatedBench:
    """A simulated bench with the machine behind it; `scenario` is the scenario's name.

    `attached_outputs` names the outputs with a monitor plugged in: what a technician would know.
    """

    files: SimulatedFiles
    clock: SimulatedClock
    engine: SimulatedEngine
    machine: Machine
    scenario: str
    attached_outputs: frozenset[str]


def simulated_bench(
    scenario: str | Scenario, seed: int = 1, pace: float | None = None
) -> SimulatedBench:
    """A bench from a scenario (name, path of a TOML file, or loaded), a seed and a pace.

    A name such as ``practise:7`` draws a scenario to practise on. `pace`: simulated seconds in one
    real second, None for as fast as possible. Raises ScenarioError for a scenario that is not
    valid, BadInput for a practice without a number.
    """
    loaded = scenario_named(scenario) if isinstance(scenario, str) else scenario
    machine = Machine(loaded, seed)
    return SimulatedBench(
        SimulatedFiles(machine),
        SimulatedClock(machine, pace),
        SimulatedEngine(machine, CARD),
        machine,
        loaded.name,
        frozenset(output.name for output in loaded.card.outputs if output.monitor),
    )


def scenario_named(name: str) -> Scenario:
    """A ready-made scenario, one of a file, or one drawn for practice (``practise:7``)."""
    return drawn_by_name(name) if is_practise(name) else load_scenario(name)


def open_simulated(
    scenario: str, seed: int, pace: float | None, address: str = ""
) -> BenchSource:
    """The simulated machine as a run opens it; a member of the seam ``benches``.

    `address`: which card is to be worked, where the bench has several. A folder that `burnin
    record-bench` has filled stands for a scenario: its files answer as the bench did, and nothing
    can be worked there.
    """
    if holds_recording(Path(scenario)):
        return _recorded(Path(scenario))
    several = bench_named(scenario)
    if several is not None:
        return open_several(several, seed, pace, address)
    bench = simulated_bench(scenario, seed, pace)
    return BenchSource(
        files=bench.files,
        engine=bench.engine,
        clock=bench.clock,
        label=bench.scenario,
        attached=bench.attached_outputs,
        shown=bench_shown(bench.machine.scenario),
        technician=SimulatedTechnician(bench.machine, bench.attached_outputs),
    )


def _recorded(folder: Path) -> BenchSource:
    files = RecordedFiles(folder)
    why = NotMeasured(SimReason.RECORDING_DOES_NO_WORK())
    return BenchSource(files, why, WallClock(), folder.resolve().name, frozenset())
