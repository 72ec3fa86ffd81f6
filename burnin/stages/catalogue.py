"""Every stage there is: what it is called, how long it takes, what carries it out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from burnin import profile as p
from burnin.profile_repair import ColdStarts
from burnin.stages import compute, display, enumeration, link, memory, thermal_ramp

if TYPE_CHECKING:
    from burnin.stages.context import StageContext


@dataclass(frozen=True)
class StageKind:
    """A kind of stage. `needs_card` stages mean nothing where software works the processor.

    `works`: whether the engine is put to work in it.
    """

    title: str
    needs_card: bool
    works: bool
    carry_out: Callable[[StageContext, p.Stage], None]
    expected_s: Callable[[p.Stage], float]


def _enumeration(context: StageContext, stage: p.Stage) -> None:
    assert isinstance(stage, p.Enumeration)
    enumeration.carry_out(context, stage)


def _link(context: StageContext, stage: p.Stage) -> None:
    assert isinstance(stage, p.LinkCheck)
    link.carry_out(context, stage)


def _display(context: StageContext, stage: p.Stage) -> None:
    assert isinstance(stage, p.Display)
    display.carry_out(context, stage)


def _memory(context: StageContext, stage: p.Stage) -> None:
    assert isinstance(stage, p.Memory)
    memory.carry_out(context, stage)


def _compute(context: StageContext, stage: p.Stage) -> None:
    assert isinstance(stage, p.Compute)
    compute.carry_out(context, stage)


def _thermal_ramp(context: StageContext, stage: p.Stage) -> None:
    assert isinstance(stage, p.ThermalRamp)
    thermal_ramp.carry_out(context, stage)


def _seconds(stage: p.Stage) -> float:
    if isinstance(stage, p.LinkCheck):
        return stage.idle_s + stage.load_s
    if isinstance(stage, p.Compute):
        return stage.load_s
    if isinstance(stage, ColdStarts):
        return 1.0 + stage.load_s
    if isinstance(stage, p.ThermalRamp):
        return 5.0 + sum(step.hold_s for step in stage.steps) + stage.cool_down_s
    return 0.0


def _cold_starts(context: StageContext, stage: p.Stage) -> None:
    from burnin.repair import cold_start_stage

    assert isinstance(stage, ColdStarts)
    cold_start_stage.carry_out(context, stage, context.boot)


STAGES: dict[str, StageKind] = {
    "enumeration": StageKind("Enumeration", True, False, _enumeration, _seconds),
    "link": StageKind("Link", True, True, _link, _seconds),
    "display": StageKind("Display outputs", True, False, _display, _seconds),
    "memory": StageKind("Memory", False, True, _memory, _seconds),
    "compute": StageKind("Compute", False, True, _compute, _seconds),
    "thermal_ramp": StageKind("Thermal ramp", True, True, _thermal_ramp, _seconds),
    "cold_starts": StageKind("Cold starts", True, True, _cold_starts, _seconds),
}


def title_of(stage: p.Stage) -> str:
    """The stage's own title, or that of its kind."""
    return stage.title or STAGES[stage.stage].title
