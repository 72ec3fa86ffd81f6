"""Every stage there is: what it is called, how long it takes, what carries it out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from burnin.profile import model as p
from burnin.profile.before_power import ColdStarts
from burnin.profile.ramp import ThermalRamp
from burnin.stages.compute import stage as compute
from burnin.stages.display import stage as display
from burnin.stages.enumeration import stage as enumeration
from burnin.stages.link import stage as link
from burnin.stages.memory import stage as memory
from burnin.stages.thermal_ramp import stage as thermal_ramp

if TYPE_CHECKING:
    from burnin.stages.context import StageContext


@dataclass(frozen=True)
class StageKind:
    """A kind of stage. `needs_card` stages mean nothing where software works the processor.

    `carry_out` takes the settings of its own kind. `works`: whether the engine is put to work.
    """

    title: str
    needs_card: bool
    works: bool
    carry_out: Callable[[StageContext, Any], None]
    expected_s: Callable[[p.Stage], float]


def _seconds(stage: p.Stage) -> float:
    if isinstance(stage, p.LinkCheck):
        return stage.idle_s + stage.load_s
    if isinstance(stage, p.Compute):
        return stage.load_s
    if isinstance(stage, ColdStarts):
        return 1.0 + stage.load_s
    if isinstance(stage, ThermalRamp):
        return 5.0 + thermal_ramp.longest_s(stage) + stage.cool_down_s
    return 0.0


def _cold_starts(context: StageContext, settings: ColdStarts) -> None:
    from burnin.stages.cold_starts import stage as cold_start_stage

    cold_start_stage.carry_out(context, settings, context.boot)


STAGES: dict[str, StageKind] = {
    "enumeration": StageKind("Enumeration", True, False, enumeration.carry_out, _seconds),
    "link": StageKind("Link", True, True, link.carry_out, _seconds),
    "display": StageKind("Display outputs", True, False, display.carry_out, _seconds),
    "memory": StageKind("Memory", False, True, memory.carry_out, _seconds),
    "compute": StageKind("Compute", False, True, compute.carry_out, _seconds),
    "thermal_ramp": StageKind("Thermal ramp", True, True, thermal_ramp.carry_out, _seconds),
    "cold_starts": StageKind("Cold starts", True, True, _cold_starts, _seconds),
}


def title_of(stage: p.Stage) -> str:
    """The stage's own title, or that of its kind."""
    return stage.title or STAGES[stage.stage].title
