"""What known-good cards are said to have shown on the simulated bench of a scenario."""

from __future__ import annotations

from burnin.core.proven_bench import BenchShown, NotProven, ProvenBench, ProvenOutput
from burnin.run.proven.meanings import ProvenReason
from burnin.sim.causes.kinds import ContactCause
from burnin.sim.causes.outputs import OutputCause
from burnin.sim.physics.lanes import GENERATION_GTS
from burnin.sim.scenario.model import Scenario


def bench_shown(scenario: Scenario) -> BenchShown:
    """The bench as proven, with what its parts carry; or not proven, as the scenario says.

    A fault at an output may as well be its monitor's or its cable's: there they are proven only
    where the scenario says so itself.
    """
    bench = scenario.bench
    proven = bench.bench_proven
    if not (proven if proven is not None else not bench_at_fault(scenario)):
        return NotProven(ProvenReason.SCENARIO_UNPROVEN(scenario=scenario.name))
    half_wired = (bench.port_width_lanes or 0) > bench.slot_width_lanes
    return ProvenBench(
        width_lanes=bench.slot_width_lanes,
        speed_gts=GENERATION_GTS[bench.held_generation or bench.slot_generation],
        width_limit_lanes=bench.slot_width_lanes if half_wired else None,
        ambient_c=bench.room_c,
        supply_w=scenario.card.max_power_w,
        outputs=tuple(
            ProvenOutput(output.name, output.monitor)
            for output in scenario.card.outputs
            if output.monitor and (proven or output.name not in _outputs_in_doubt(scenario))
        ),
        simulated=True,
    )


def _outputs_in_doubt(scenario: Scenario) -> frozenset[str]:
    return frozenset(c.output for c in scenario.causes if isinstance(c, OutputCause))


def bench_at_fault(scenario: Scenario) -> bool:
    """Whether slot, riser or set-up of this scenario keep a sound card from its best."""
    bench = scenario.bench
    return (
        (bench.port_width_lanes or 0) > bench.slot_width_lanes
        or bench.riser_loss_db > 0.0
        or bench.retimer_passes < 1.0
        or bench.power_saving == "keeps_low"
        or (bench.held_generation or bench.slot_generation) < bench.slot_generation
        or any(isinstance(cause, ContactCause) and cause.at == "slot" for cause in scenario.causes)
    )
