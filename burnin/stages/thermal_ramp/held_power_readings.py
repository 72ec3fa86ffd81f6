"""Mean power of every step that was held in watts, after rise and settling."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from statistics import fmean, stdev

from burnin.core.decision import spread
from burnin.core.meaning import Source
from burnin.core.reading import Limit, NotMeasured, Reading, judge, known, not_measured
from burnin.core.sample import Resolution, Sample
from burnin.stages.thermal_ramp.meanings import ThermalRampReason, ThermalRampSource
from burnin.stages.thermal_ramp.ramp_trace import CUT, RampTrace
from burnin.stages.thermal_ramp.settings import ThermalRamp

_SETTLING_S = 5.0
_BLOCKS = 5


@dataclass(frozen=True)
class _Held:
    """A step in watts: its name, what was asked, its samples, or why there are none to judge."""

    name: str
    asked_w: float
    samples: list[Sample] | NotMeasured
    required: bool = True


def judge_held(
    trace: RampTrace, settings: ThermalRamp, resolution: Resolution
) -> list[Reading]:
    """One reading a step; of a ramp that plans itself the top power too, reached or not.

    Asked and held are told by the same sensor: its accuracy falls out of the comparison, its step
    and the spread of what is averaged stay.
    """
    return [_judge(held, settings, resolution) for held in _steps(trace, settings)]


def _steps(trace: RampTrace, settings: ThermalRamp) -> Iterator[_Held]:
    plan = settings.own_plan
    if plan is None:
        for number, step in enumerate(settings.steps, start=1):
            if step.power_w is None:
                continue
            done = number <= trace.steps_completed
            samples = trace.steps[number - 1] if done else NotMeasured(CUT)
            yield _Held(f"step {number}", step.power_w, samples)
        return
    asked = [w for w in trace.asked_w if w is not None]
    for number, (watts, samples) in enumerate(zip(asked, trace.steps, strict=True), start=1):
        top = number == len(asked) and not trace.cut
        yield _Held("top" if top else f"step {number}", watts, samples, required=top)
    if trace.cut:
        yield _Held("top", plan.top_w, NotMeasured(trace.cut), required=not plan.no_loop)


def _judge(held: _Held, settings: ThermalRamp, resolution: Resolution) -> Reading:
    name, asked_w, share = f"power_held_w {held.name}", held.asked_w, settings.power_within_share
    limit = Limit(asked_w * (1.0 - share), asked_w * (1.0 + share))
    found = (
        held.samples
        if isinstance(held.samples, NotMeasured)
        else _held(held.samples, asked_w, settings.power_rise_w_per_s)
    )
    if isinstance(found, NotMeasured):
        return not_measured(name, "W", found.reason, limit=limit, required=held.required)
    power_w, source, share_used, std_w = found
    if limit.lower is not None and power_w < limit.lower and share_used > 0.99:
        reason = ThermalRampReason.FULL_WORK(reached_w=power_w, asked_w=asked_w)
        # A plan says what to reach at most; the card's own full work is all that it can be given.
        needed = held.required and settings.own_plan is None
        return not_measured(name, "W", reason, limit=limit, required=needed)
    told = spread((resolution.power_w,), std=std_w)
    return judge(
        name,
        power_w,
        "W",
        limit,
        uncertainty=told.uncertainty,
        source=source,
        required=held.required,
    )


def _held(
    samples: list[Sample], asked_w: float, rise_w_per_s: float
) -> tuple[float, Source, float, float] | NotMeasured:
    """Mean power over the settled samples, where it is from, mean share of work, standard error."""
    settle_s = asked_w / rise_w_per_s + _SETTLING_S
    begin_s = samples[0].elapsed_s + settle_s if samples else 0.0
    settled = [s for s in samples if s.elapsed_s >= begin_s]
    if len(settled) < 3:
        length_s = samples[-1].elapsed_s - samples[0].elapsed_s if samples else 0.0
        return NotMeasured(ThermalRampReason.STEP_UNSETTLED(step_s=length_s))
    share = sum(s.load_share for s in settled) / len(settled)
    first, last = settled[0], settled[-1]
    powers = [p for s in settled if (p := known(s.telemetry.power_w)) is not None]
    std_w = _standard_error(powers)
    begin_j, end_j = known(first.telemetry.energy_j), known(last.telemetry.energy_j)
    passed_s = last.elapsed_s - first.elapsed_s
    if begin_j is not None and end_j is not None and end_j > begin_j:
        counter = ThermalRampSource.ENERGY_COUNTER(over_s=passed_s)
        return (end_j - begin_j) / passed_s, counter, share, std_w
    if not powers:
        return NotMeasured(ThermalRampReason.SHARE_HELD())
    sensor = ThermalRampSource.POWER_SENSOR(over_s=passed_s)
    return sum(powers) / len(powers), sensor, share, std_w


def _standard_error(values: list[float]) -> float:
    """Of the mean of values in their order: from means of blocks, as neighbours are alike."""
    length = len(values) // _BLOCKS
    if length == 0:
        return stdev(values) if len(values) > 1 else 0.0
    means = [fmean(values[n * length : (n + 1) * length]) for n in range(_BLOCKS)]
    return stdev(means) / math.sqrt(_BLOCKS)
