"""What both kinds of ramp do alike on a warning: fit, rest, and tell what was given up."""

from __future__ import annotations

from burnin.core.meaning import Note, Reason
from burnin.core.sample import Sample
from burnin.stages.context import StageContext
from burnin.stages.thermal_ramp.hold_back import HoldBack
from burnin.stages.thermal_ramp.meanings import ThermalRampNote, ThermalRampReason
from burnin.stages.thermal_ramp.ramp_trace import RampTrace
from burnin.stages.thermal_ramp.settings import ThermalRamp
from burnin.stages.working import SteadyLoad

_IDLE_W = 20.0
"""Taken for a card whose idle power nobody has measured."""

_WORK_DRAWS_WITHIN = 1.1
"""A share of work draws what clocks and heat make of it: less work lets a clock rise (estimate; a
simulated card drew 7 % more than in proportion)."""


def hold_back_of(
    context: StageContext[object], settings: ThermalRamp, trace: RampTrace
) -> HoldBack | None:
    """Fitted for this ramp; None where its profile says nothing of warnings."""
    forecast, may = context.watch.forecast, settings.on_warning
    if may is None or forecast is None:
        return None
    idle_w = _IDLE_W if trace.idle_power_w is None else trace.idle_power_w
    by_work = any(step.power_w is None for step in settings.steps)
    return HoldBack(may, forecast, idle_w, _WORK_DRAWS_WITHIN if by_work else 1.0)


def rest_until_safe(
    context: StageContext[object],
    load: SteadyLoad,
    back: HoldBack,
    whole_s: float,
    trace: RampTrace,
) -> None:
    """No load until the whole step is safe, or the time for rests is over."""
    began_s, left_s = context.watch.elapsed_s(), back.rest_left_s
    context.note(ThermalRampNote.WARNING_REST(rest_s=left_s))
    context.plan_load(None)

    def on_sample(sample: Sample) -> bool:
        rested_s = sample.elapsed_s - began_s
        context.progress(rested_s, left_s, "s", ThermalRampNote.WARNING_REST(rest_s=left_s))
        return back.cool_enough(sample.elapsed_s, whole_s)

    load.hold(0.0, left_s, on_sample)
    back.rested_s += context.watch.elapsed_s() - began_s
    trace.rested_s = back.rested_s


def gave_up(back: HoldBack, asked: Note, held: Note | None) -> Reason:
    """What was asked and not held, what was held in its place, and the warning that led to it."""
    because = back.because
    assert because is not None  # a ramp gives nothing up but on a warning
    warning = because.note()
    if held is None:
        return ThermalRampReason.ENDED_ON_WARNING(
            asked=asked, warning=warning, check=because.check
        )
    return ThermalRampReason.STEPPED_DOWN(
        asked=asked, held=held, warning=warning, check=because.check
    )
