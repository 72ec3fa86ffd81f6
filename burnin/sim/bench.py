"""A simulated bench in one piece: files, clock and engine that share one machine."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from burnin.sim.clock import SimulatedClock
    from burnin.sim.engine import SimulatedEngine
    from burnin.sim.files.simulated_files import SimulatedFiles
    from burnin.sim.physics.machine import Machine
    from burnin.sim.scenario.model import Scenario


@dataclass(frozen=True)
class SimulatedBench:
    """What a run needs of a simulated bench; `label` goes onto every file, plot and sheet.

    `attached_outputs` names the outputs with a monitor plugged in: what a technician would know.
    """

    files: SimulatedFiles
    clock: SimulatedClock
    engine: SimulatedEngine
    machine: Machine
    label: str
    attached_outputs: frozenset[str]


def simulated_bench(
    scenario: str | Scenario, seed: int = 1, pace: float | None = None
) -> SimulatedBench:
    """A bench from a scenario (name, path of a TOML file, or loaded), a seed and a pace.

    `pace`: simulated seconds in one real second, None for as fast as possible. Raises
    ScenarioError for a scenario that is not valid.
    """
    from burnin.sim.clock import SimulatedClock
    from burnin.sim.engine import SimulatedEngine
    from burnin.sim.files.simulated_files import SimulatedFiles
    from burnin.sim.physics.machine import Machine
    from burnin.sim.scenario.model import load_scenario

    loaded = load_scenario(scenario) if isinstance(scenario, str) else scenario
    machine = Machine(loaded, seed)
    return SimulatedBench(
        SimulatedFiles(machine),
        SimulatedClock(machine, pace),
        SimulatedEngine(machine),
        machine,
        f"SIMULATED: scenario {loaded.name}, seed {seed}",
        frozenset(output.name for output in loaded.card.outputs if output.monitor),
    )
