"""Before its first load a card meets no more than slices of work that hardly warm it.

Simulated cards of every cooling, with an engine whose API tells no bus address: then a pattern of
slices must prove it. Power and heat are the machine's own, not what its sensors tell.
"""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest

from burnin.card.merge import open_bench
from burnin.core.events import Event, ReadingTaken, SampleTaken
from burnin.core.reading import known
from burnin.engine.gentle_share import MEAN_RISE_W
from burnin.guard.factory import make_guards
from burnin.guard.sampler import Watch
from burnin.profile.loader import load_profile
from burnin.run.engine_proof import prove_engine
from burnin.run.guard_facts import facts_of_card
from burnin.sim.bench import SimulatedBench, simulated_bench
from burnin.sim.physics.power import Activity
from burnin.stages.boot import StartsKept
from burnin.stages.context import StageContext
from tests.run.driving import Ran, run_simulated
from tests.run.ramps import DRY, figure, ramp_profile, readings, scenario
from tests.stages.on_bench import NobodyThere

CARDS = {
    "healthy": "desktop_air",
    "fan_stall": "repaired_desktop",
    "healthy_x8": "short_x8",
    "healthy_compute": "passive_compute",
    "healthy_loop": "water_loop",
    "no_coolant": "water_loop",
    "healthy_bench_block": "water_no_loop",
}
MOST_RISE_K = 2.0


class TrueHeat:
    """What a simulated card really drew and how warm its die became, tick by tick."""

    def __init__(self, bench: SimulatedBench) -> None:
        machine = bench.machine
        self._tick = machine._tick
        self._machine = machine
        self._idle_w = machine.heat.total_w
        self._start_c = machine.network.at("die")
        self.energy_j = self.passed_s = self.most_k = 0.0
        machine._tick = self._see  # type: ignore[method-assign]

    def _see(self, seconds: float, activity: Activity) -> None:
        self._tick(seconds, activity)
        self.passed_s += seconds
        self.energy_j += (self._machine.heat.total_w - self._idle_w) * seconds
        self.most_k = max(self.most_k, self._machine.network.at("die") - self._start_c)


@pytest.mark.parametrize("seed", [1, 2])
@pytest.mark.parametrize("name", CARDS)
def test_a_proof_adds_at_most_40_w_in_the_mean_and_two_kelvin(
    name: str, seed: int, tmp_path: Path
) -> None:
    bench = simulated_bench(name, seed)
    bench.engine.address = ""
    card = open_bench(bench.files, this_machine=False, simulated=True).cards()[0]
    profile = load_profile(CARDS[name]).profile
    events: list[Event] = []
    guards = make_guards(profile.guards, facts_of_card(card))
    period_s = profile.pace.period_s
    watch = Watch(card, guards, bench.clock, events.append, lambda: False,
                  bench.clock.monotonic_s(), period_s)  # fmt: skip
    context = StageContext(
        stage="1-link", card=card, cards_found=1, memory_bytes=0, engine=bench.engine,
        watch=watch, clock=bench.clock, publish=events.append, prompter=NobodyThere(),
        record_folder=tmp_path, sample_interval_s=period_s,
        starts=StartsKept(tmp_path / "cold_starts.jsonl", "", ""),
    )  # fmt: skip
    true = TrueHeat(bench)
    proof = prove_engine(context, card, [], f"seed {seed}")
    assert proof.proven is True
    worked = [e for e in events if isinstance(e, SampleTaken) and e.sample.load_share > 0.0]
    assert worked
    assert 0.0 < true.energy_j <= MEAN_RISE_W * true.passed_s
    assert true.most_k <= MOST_RISE_K
    [counted] = [
        e.reading
        for e in events
        if isinstance(e, ReadingTaken) and e.reading.name == "engine_proof_j"
    ]
    assert figure(counted) == context.joules_before
    assert figure(counted) == pytest.approx(true.energy_j, rel=0.15)


def drawn_j(ran: Ran) -> float:
    """Energy of the ramp's load by the power read, idle power and all."""
    held = [s for s in ran.record.samples() if s.load_w]
    return sum(
        (known(b.telemetry.power_w) or 0.0) * (b.elapsed_s - a.elapsed_s)
        for a, b in pairwise(held)
    )


@pytest.mark.long
def test_what_the_proof_took_counts_in_the_budget_of_a_dry_block(tmp_path: Path) -> None:
    card = scenario(tmp_path, "water_loop", DRY)
    profile = ramp_profile("water", "", "top_w = 450.0\nbudget_j = 3000.0")
    told = run_simulated(card, profile, tmp_path / "told")
    ran = run_simulated(card, profile, tmp_path / "untold", tells_address=False)
    assert "engine_proof_j" not in readings(told)
    found = readings(ran)
    proof_j = figure(found["engine_proof_j"])
    assert proof_j > 50.0
    for each in (found, readings(told)):
        assert 2800.0 < figure(each["heat_given_j"]) <= 3000.0
    assert drawn_j(told) - drawn_j(ran) == pytest.approx(proof_j, rel=0.5)
