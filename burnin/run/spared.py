"""Stages that a run puts off because of what the bench lacks: they would harm, or tell nothing."""

from __future__ import annotations

from dataclasses import dataclass

from burnin.core.meaning import Reason
from burnin.profile.model import Profile, Stage, stage_name
from burnin.run.reasons import RunReason
from burnin.stages.registry import stage_kind
from burnin.stages.thermal_ramp.settings import ThermalRamp


@dataclass(frozen=True)
class BenchSays:
    """What the technician says of the bench. `supply_w`: most that it gives the card, in W."""

    no_loop: bool = False
    supply_w: float | None = None


def spared(profile: Profile, said: BenchSays) -> dict[str, Reason]:
    """Stages by name that wait for what the bench lacks, each with its reason.

    Without a loop no load is put on a water block but under a profile that is made for that; a
    supply that gives too little spoils what draws more.
    """
    found: dict[str, Reason] = {}
    for number, stage in enumerate(profile.stages, start=1):
        reason = _why(profile, stage, said)
        if reason is not None:
            found[stage_name(number, stage)] = reason
    return found


def _why(profile: Profile, stage: Stage, said: BenchSays) -> Reason | None:
    if not stage_kind(stage.stage).works:
        return None
    if said.no_loop and not _made_for_no_loop(profile):
        return RunReason.NO_LOOP()
    needed = _needed_w(profile, stage)
    if said.supply_w is not None and needed is not None and needed > said.supply_w:
        return RunReason.SUPPLY_TOO_SMALL(supply_w=said.supply_w, needed_w=needed)
    return None


def _made_for_no_loop(profile: Profile) -> bool:
    """Whether a ramp of the profile says that it is carried out without a loop."""
    ramps = [stage for stage in profile.stages if isinstance(stage, ThermalRamp)]
    return any(ramp.own_plan is not None and ramp.own_plan.no_loop for ramp in ramps)


def _needed_w(profile: Profile, stage: Stage) -> float | None:
    """Most that a stage may draw, in W; None where the profile does not say."""
    if isinstance(stage, ThermalRamp):
        if stage.own_plan is not None:
            return stage.own_plan.top_w
        held = [step.power_w for step in stage.steps if step.power_w is not None]
        if len(held) == len(stage.steps) and held:
            return max(held)
    return profile.guards.power_limit_w
