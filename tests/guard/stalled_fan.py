"""A card under full load whose fans stall, watched by guards through sensors that fail."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from burnin.card.sources.linux_card import LinuxCard
from burnin.core.events import Event, SampleTaken
from burnin.core.sample import Sample
from burnin.engine.job import ArithmeticLoad
from burnin.guard.factory import make_guards
from burnin.guard.guard import Trip
from burnin.guard.sampler import LoadStopped, Watch
from burnin.profile.guards import Guards
from burnin.sim.bench import simulated_bench
from tests.sim.machines import with_causes

GUARDS = Guards(
    gpu_temp_limit_c=90.0,
    hotspot_temp_limit_c=108.0,
    memory_temp_limit_c=105.0,
    hotspot_delta_limit_k=60.0,
    power_limit_w=600.0,
    forecast=True,
    cooling="fans",
)
STALLS = {"kind": "fan", "state": "stalls", "after_load_s": 10.0}
SETTLE_S, LONGEST_S = 5.0, 200.0


@dataclass(frozen=True)
class Watched:
    """What became of the load: the die's true peak, °C, who ended it and after how many seconds."""

    peak_c: float
    trip: Trip | None
    after_s: float
    samples: tuple[Sample, ...]


def watched(*faults: dict[str, Any], stalls: bool = True, seed: int = 1) -> Watched:
    """Load until a guard ends it, or for `LONGEST_S`; then the heat that is still to come."""
    causes = (*([STALLS] if stalls else ()), *faults)
    bench = simulated_bench(with_causes("healthy", *causes), seed=seed)
    card = LinuxCard(bench.files, "0000:01:00.0")
    events: list[Event] = []
    start_s = bench.clock.monotonic_s()
    watch = Watch(
        card, make_guards(GUARDS), bench.clock, events.append, lambda: False, start_s, 0.1
    )
    end_s, peak_c, trip = start_s + SETTLE_S, 0.0, None
    try:
        while bench.clock.monotonic_s() < end_s:
            watch.look("rest")
            watch.pause()
        bench.engine.begin(ArithmeticLoad(1.0))
        end_s = bench.clock.monotonic_s() + LONGEST_S
        while bench.clock.monotonic_s() < end_s:
            watch.look("load", load_share=1.0)
            bench.engine.beat()
            watch.pause()
            peak_c = max(peak_c, bench.machine.network.at("die"))
    except LoadStopped as stop:
        trip = stop.trip
    after_s = watch.elapsed_s()
    bench.engine.stop()
    for _ in range(50):
        bench.clock.sleep_s(0.1)
        peak_c = max(peak_c, bench.machine.network.at("die"))
    samples = tuple(event.sample for event in events if isinstance(event, SampleTaken))
    return Watched(peak_c, trip, after_s, samples)
