"""Stages that a run puts off because of what the bench lacks: they would harm, or tell nothing."""

from __future__ import annotations

from dataclasses import dataclass

from burnin.core.meaning import Reason
from burnin.profile.model import Profile, Stage, stage_name
from burnin.run.reasons import RunReason
from burnin.stages.cold_starts.settings import ColdStarts
from burnin.stages.link.settings import LinkCheck
from burnin.stages.registry import stage_kind
from burnin.stages.thermal_ramp.settings import ThermalRamp


@dataclass(frozen=True)
class BenchSays:
    """What the technician says of the bench. `supply_w`: most that it gives the card, in W."""

    no_loop: bool = False
    supply_w: float | None = None


def spared(
    profile: Profile, said: BenchSays, own_limit_w: float | None = None
) -> dict[str, Reason]:
    """Stages by name that wait for what the bench lacks, each with its reason.

    Without a loop no load is put on a water block but under a profile that is made for that; a
    supply that gives too little spoils what draws more. `own_limit_w`: the card's own power limit,
    which work that is not held in watts may reach.
    """
    found: dict[str, Reason] = {}
    for number, stage in enumerate(profile.stages, start=1):
        reason = _why(profile, stage, said, own_limit_w)
        if reason is not None:
            found[stage_name(number, stage)] = reason
    return found


def _why(
    profile: Profile, stage: Stage, said: BenchSays, own_limit_w: float | None
) -> Reason | None:
    if not stage_kind(stage.stage).works:
        return None
    if said.no_loop and not _made_for_no_loop(profile):
        return RunReason.NO_LOOP()
    if said.supply_w is None:
        return None
    needed = needed_w(profile, stage, own_limit_w)
    if needed is None:
        if isinstance(stage, LinkCheck | ColdStarts):  # copies alone draw a part of it
            return None
        return RunReason.SUPPLY_MAY_BE_TOO_SMALL(supply_w=said.supply_w)
    if needed > said.supply_w:
        return RunReason.SUPPLY_TOO_SMALL(supply_w=said.supply_w, needed_w=needed)
    return None


def _made_for_no_loop(profile: Profile) -> bool:
    """Whether a ramp of the profile says that it is carried out without a loop."""
    ramps = [stage for stage in profile.stages if isinstance(stage, ThermalRamp)]
    return any(ramp.own_plan is not None and ramp.own_plan.no_loop for ramp in ramps)


def needed_w(profile: Profile, stage: Stage, own_limit_w: float | None) -> float | None:
    """Most that a stage may draw, in W; None where neither profile nor card says.

    A share of work is no share of power: it is full work in slices, and a supply sees their peaks.
    Copies over the link draw a part of what the card may, and are held back by the profile alone.
    """
    if isinstance(stage, ThermalRamp):
        if stage.own_plan is not None:
            return _lesser(stage.own_plan.top_w, own_limit_w)
        held = [step.power_w for step in stage.steps if step.power_w is not None]
        if len(held) == len(stage.steps) and held:
            return _lesser(max(held), own_limit_w)
    limits_w = profile.guards.power_limit_w
    if isinstance(stage, LinkCheck | ColdStarts):
        return limits_w
    return own_limit_w if limits_w is None else _lesser(limits_w, own_limit_w)


def _lesser(one_w: float, other_w: float | None) -> float:
    return one_w if other_w is None else min(one_w, other_w)
