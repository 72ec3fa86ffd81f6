"""A stage carried out by itself on the simulated bench, with a card that may lack a capability."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from burnin.card.merge import open_bench
from burnin.card.merged_card import MergedCard
from burnin.core.events import Event
from burnin.core.meaning import Prompt
from burnin.core.reading import NotMeasured
from burnin.guard.guard_set import GuardSet
from burnin.guard.sampler import Watch
from burnin.profile.stage_settings import StageSettings
from burnin.profile.under_load import Picture, UnderLoadPoint, VoltageAcross
from burnin.run.reasons import RunReason
from burnin.sim.bench import SimulatedBench, simulated_bench
from burnin.stages.boot import Boot, StartsKept
from burnin.stages.context import Prompter, StageContext, methods_of, offer
from burnin.stages.kind import StageKind

SHORT: dict[str, dict[str, object]] = {
    "enumeration": {},
    "link": {"width_lanes": 16, "generation": 4, "idle_s": 0.5, "load_s": 4.0},
    "display": {"outputs": 4, "monitors": "all", "watch_s": 0.5},
    "memory": {"patterns": ["own_address"]},
    "compute": {"load_s": 3.0},
    "all_at_once": {
        "load_s": 3.0, "alone_s": 0.5, "patterns": ["own_address"],
        "steps": [{"rate_hz": 1.0, "hold_s": 2.0}],
    },
    "thermal_ramp": {
        "steps": [{"load_share": 0.5, "hold_s": 10.0}],
        "cool_down_s": 0.0,
        "steady_within_k": 1.0,
        "thermal_resistance_at_most_k_per_w": 1.0,
    },
    "cold_starts": {"width_lanes": 16, "generation": 4, "load_s": 2.0},
    "movement": {"still_s": 2.0},
    "under_load": {"own_power_share": 0.5, "settle_s": 2.0},
}
"""Settings with which a stage of each kind is done within seconds."""
JOINT = VoltageAcross(
    measure="voltage_across", name="joint", title="Across the joint", at="joint", at_most_v=0.02
)
PICTURE = Picture(measure="picture", name="picture", title="The picture of the screen")


class NobodyThere:
    """Answers no prompt."""

    def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:  # noqa: ARG002
        return NotMeasured(RunReason.NOBODY_ANSWERED(waited_s=timeout_s))


class Lacking:
    """A card of which no source offers one capability: the merge of no reader answers for it."""

    def __init__(self, card: MergedCard, capability: type) -> None:
        self._card, self._lacks = card, methods_of(capability)
        self._nobody = MergedCard(card.place, {})

    def __getattr__(self, name: str) -> Any:
        return getattr(self._nobody if name in self._lacks else self._card, name)


def settings_of(kind: StageKind) -> StageSettings:
    """The short settings of a kind."""
    import json

    content = {"stage": kind.name} | SHORT.get(kind.name, {})
    return kind.settings.model_validate_json(json.dumps(content))


def carried_out(
    kind: StageKind, folder: Path, lacks: type | None = None
) -> tuple[StageContext[Any], list[Event]]:
    """The context of a stage that was carried out, and all that it published."""
    bench = simulated_bench("healthy")
    context, events = context_of(kind, bench, folder, NobodyThere(), lacks)
    try:
        kind.carry_out(context, settings_of(kind))
    finally:
        bench.engine.close()
    return context, events


def context_of(
    kind: StageKind,
    bench: SimulatedBench,
    folder: Path,
    prompter: Prompter,
    lacks: type | None = None,
    stop_asked: Callable[[], bool] = lambda: False,
    points: tuple[UnderLoadPoint, ...] = (JOINT, PICTURE),
) -> tuple[StageContext[Any], list[Event]]:
    """What a stage of a kind is given on a simulated bench, and all that it will publish."""
    folder.mkdir(parents=True, exist_ok=True)
    card: Any = open_bench(bench.files, this_machine=False, simulated=True).cards()[0]
    if lacks is not None:
        card = Lacking(card, lacks)
    events: list[Event] = []
    clock = bench.clock
    watch = Watch(card, GuardSet(), clock, events.append, stop_asked, clock.monotonic_s())
    context = StageContext[Any](
        stage=f"1-{kind.name}",
        card=offer(card, kind.capabilities),
        cards_found=1,
        memory_bytes=0,
        engine=bench.engine,
        watch=watch,
        clock=clock,
        publish=events.append,
        prompter=prompter,
        record_folder=folder,
        sample_interval_s=0.1,
        starts=StartsKept(folder / "cold_starts.jsonl", "", "burnin run --resume here"),
        boot=Boot("boot-1", 60.0),
        under_load=points,
    )
    return context, events
