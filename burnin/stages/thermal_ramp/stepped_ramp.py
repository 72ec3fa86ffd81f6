"""A ramp of steps that the profile names: watts or shares of work, each held for its time."""

from __future__ import annotations

from collections.abc import Callable

from burnin.core.sample import Sample
from burnin.engine.job import ArithmeticLoad
from burnin.profile.ramp import RampStep, ThermalRamp
from burnin.stages.context import StageContext
from burnin.stages.load import SteadyLoad, steady_load
from burnin.stages.thermal_ramp.trace import SPENT, RampTrace
from burnin.thermal.forecast import Plan


def climb(context: StageContext, settings: ThermalRamp, trace: RampTrace) -> None:
    """Hold every step; the heat budget may end it before, by plan."""
    total_s = sum(step.hold_s for step in settings.steps)
    done_s = 0.0
    with steady_load(context, ArithmeticLoad(0.0)) as load:
        plan = _plan(settings, context.watch.elapsed_s())
        if plan is not None:
            context.plan_load(plan, "the profile's steps")
        for number, step in enumerate(settings.steps, start=1):
            trace.begin_step(step.power_w)
            note = f"step {number} of {len(settings.steps)}: {_asked(step)}"
            begin_s = done_s

            def on_sample(
                sample: Sample, begin_s: float = begin_s, note: str = note
            ) -> bool | None:
                trace.add(sample)
                inside_s = sample.elapsed_s - trace.steps[-1][0].elapsed_s
                context.progress(min(begin_s + inside_s, total_s), total_s, "s", note)
                return _spent(settings, trace)

            _hold(load, settings, step, on_sample)
            if load.power is not None:
                context.note(f"{_asked(step)}: {load.power.why}")
            trace.steps_completed += 1
            done_s += step.hold_s
            if _spent(settings, trace):
                trace.spent = True
                told = f"heat budget of {settings.heat_budget_j:.0f} J spent"
                context.note(f"{told}: the ramp ends by plan")
                break
    if trace.steps_completed == len(settings.steps):
        trace.cut = ""
    elif trace.spent:
        trace.cut = SPENT


def _plan(settings: ThermalRamp, now_s: float) -> Plan | None:
    """What the guard may know beforehand: nothing where any step is a share of work."""
    steps, at_s = [], now_s
    for step in settings.steps:
        if step.power_w is None:
            return None
        steps.append((at_s, step.power_w))
        at_s += step.hold_s
    return Plan(tuple(steps), at_s)


def _spent(settings: ThermalRamp, trace: RampTrace) -> bool:
    budget_j = settings.heat_budget_j
    return budget_j is not None and trace.energy_j >= budget_j


def _asked(step: RampStep) -> str:
    return f"{step.power_w:.0f} W" if step.power_w is not None else f"{step.load_share:.0%} load"


def _hold(
    load: SteadyLoad,
    settings: ThermalRamp,
    step: RampStep,
    on_sample: Callable[[Sample], bool | None],
) -> None:
    if step.power_w is None:
        load.hold(step.load_share or 0.0, step.hold_s, on_sample)
        return
    load.hold_power(
        step.power_w,
        step.hold_s,
        on_sample,
        rise_w_per_s=settings.power_rise_w_per_s,
        share_without_sensor=0.5 if step.load_share is None else step.load_share,
    )
