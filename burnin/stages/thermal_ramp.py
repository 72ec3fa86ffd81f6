"""Thermal ramp: load in steps, held, taken away; temperatures, resistance and power are judged."""

from __future__ import annotations

from collections.abc import Callable

from burnin.engine.job import ArithmeticLoad
from burnin.profile import RampStep, ThermalRamp
from burnin.reading import known
from burnin.sample import Sample
from burnin.stages.context import StageContext
from burnin.stages.ramp_judging import judge_trace
from burnin.stages.ramp_trace import RampTrace
from burnin.stages.working import SteadyLoad, steady_load

_IDLE_S = 5.0


def carry_out(context: StageContext, settings: ThermalRamp) -> None:
    """Idle, steps, cool-down; readings are taken also when a guard ends the load."""
    trace = RampTrace()
    _idle(context, trace)
    ended_by_plan = False
    total_s = sum(step.hold_s for step in settings.steps)
    done_s = 0.0
    try:
        with steady_load(context, ArithmeticLoad(0.0)) as load:
            for number, step in enumerate(settings.steps, start=1):
                trace.begin_step()
                note = f"step {number} of {len(settings.steps)}: {_asked(step)}"
                begin_s = done_s

                def on_sample(
                    sample: Sample, begin_s: float = begin_s, note: str = note
                ) -> bool | None:
                    trace.add(sample)
                    inside_s = sample.elapsed_s - trace.steps[-1][0].elapsed_s
                    context.progress(min(begin_s + inside_s, total_s), total_s, "s", note)
                    budget_j = settings.heat_budget_j
                    return budget_j is not None and trace.energy_j >= budget_j

                _hold(load, settings, step, on_sample)
                if load.power is not None:
                    context.note(f"{_asked(step)}: {load.power.why}")
                trace.steps_completed += 1
                done_s += step.hold_s
                budget_j = settings.heat_budget_j
                if budget_j is not None and trace.energy_j >= budget_j:
                    ended_by_plan = True
                    context.note(f"heat budget of {budget_j:.0f} J spent: the ramp ends by plan")
                    break
    finally:
        trace.add_last(context.watch.last, context.stage)
        for reading in judge_trace(trace, settings, context.card.resolution(), ended_by_plan):
            context.take(reading)
    if settings.cool_down_s:
        context.rest(settings.cool_down_s)


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


def _idle(context: StageContext, trace: RampTrace) -> None:
    powers: list[float] = []
    temps: list[float] = []

    def each() -> None:
        last = context.watch.last
        if last is None:
            return
        power_w, temp_c = known(last.telemetry.power_w), known(last.telemetry.gpu_temp_c)
        if power_w is not None:
            powers.append(power_w)
        if temp_c is not None:
            temps.append(temp_c)

    context.rest(_IDLE_S, each)
    trace.idle_power_w = sum(powers) / len(powers) if powers else None
    trace.start_temp_c = sum(temps) / len(temps) if temps else None
