"""A ramp of steps that the profile names: watts or shares of work, each held for its time."""

from __future__ import annotations

from collections.abc import Callable

from burnin.core.meaning import Note
from burnin.core.sample import Sample
from burnin.engine.job import ArithmeticLoad
from burnin.stages.context import StageContext
from burnin.stages.thermal_ramp.meanings import ThermalRampNote, ThermalRampReason
from burnin.stages.thermal_ramp.ramp_trace import RampTrace
from burnin.stages.thermal_ramp.settings import RampStep, ThermalRamp
from burnin.stages.working import SteadyLoad, steady_load
from burnin.thermal.inputs import Plan


def climb(context: StageContext[object], settings: ThermalRamp, trace: RampTrace) -> None:
    """Hold every step; the heat budget may end it before, by plan."""
    total_s = sum(step.hold_s for step in settings.steps)
    done_s = 0.0
    with steady_load(context, ArithmeticLoad(0.0)) as load:
        plan = _plan(settings, context.watch.elapsed_s())
        if plan is not None:
            context.plan_load(plan, ThermalRampNote.STEPS_OF_PROFILE())
        for number, step in enumerate(settings.steps, start=1):
            trace.begin_step(step.power_w)
            asked = _asked(step)
            note = ThermalRampNote.STEP(
                number=number, steps_count=len(settings.steps), asked=asked
            )
            begin_s = done_s

            def on_sample(
                sample: Sample, begin_s: float = begin_s, note: Note = note
            ) -> bool | None:
                trace.add(sample)
                inside_s = sample.elapsed_s - trace.steps[-1][0].elapsed_s
                context.progress(min(begin_s + inside_s, total_s), total_s, "s", note)
                return _spent(settings, trace)

            _hold(load, settings, step, on_sample)
            if load.power is not None:
                context.note(ThermalRampNote.STEP_DONE(asked=asked, why=load.power.why))
            trace.steps_completed += 1
            done_s += step.hold_s
            if _spent(settings, trace):
                trace.spent = True
                context.note(ThermalRampNote.BUDGET_SPENT(budget_j=settings.heat_budget_j))
                break
    if trace.steps_completed == len(settings.steps):
        trace.cut = None
    elif trace.spent:
        trace.cut = ThermalRampReason.BUDGET_SPENT()


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


def _asked(step: RampStep) -> Note:
    if step.power_w is not None:
        return ThermalRampNote.POWER(power_w=step.power_w)
    return ThermalRampNote.LOAD(load_share=step.load_share)


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
