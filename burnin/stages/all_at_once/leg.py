"""One leg of the stage, at one rate of steps: the job carried out, and what was seen of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from burnin.core.meaning import Reason
from burnin.core.reading import Limit, NotMeasured, judge
from burnin.core.sample import Sample
from burnin.engine.job import (
    AllAtOnce,
    PartFault,
    PhaseBegan,
    Progress,
    Started,
    TogetherResult,
    WorkEvent,
)
from burnin.stages.all_at_once.meanings import TogetherReason, TogetherTerm
from burnin.stages.context import StageContext
from burnin.stages.working import run_job

LEAST_BESIDE = 0.01
"""Of what it does alone in that time: a part that does less was as good as not there. Where all
share one queue memory and link have a fourteenth of it (`engine/together/parts.py`)."""
PARTS = {
    "compute": TogetherTerm.COMPUTE,
    "memory": TogetherTerm.MEMORY,
    "link": TogetherTerm.LINK,
}


@dataclass
class Leg:
    """`watts` and `joules` are of samples while all worked: (elapsed_s, value).

    `together`: each part has been alone. `works` is False in the rests of slow steps.
    """

    rate_hz: float
    alone_per_s: Mapping[str, float] = field(default_factory=dict)
    result: TogetherResult | None = None
    faults: list[PartFault] = field(default_factory=list)
    watts: list[tuple[float, float]] = field(default_factory=list)
    joules: list[tuple[float, float]] = field(default_factory=list)
    together: bool = False
    works: bool = True
    mix: int = -1

    def sample(self, sample: Sample) -> None:
        """Keep power and energy once all work."""
        told = sample.telemetry
        if not self.together:
            return
        if not isinstance(told.power_w, NotMeasured):
            self.watts.append((sample.elapsed_s, told.power_w))
        if not isinstance(told.energy_j, NotMeasured):
            self.joules.append((sample.elapsed_s, told.energy_j))

    def mean_power_w(self) -> float | None:
        """Mean power while all worked: by the energy counter, else by the samples."""
        if len(self.joules) > 1:
            (first_s, first_j), (last_s, last_j) = self.joules[0], self.joules[-1]
            if last_s > first_s and last_j > first_j:
                return (last_j - first_j) / (last_s - first_s)
        if not self.watts:
            return None
        return sum(value for _, value in self.watts) / len(self.watts)

    def did(self, part: str) -> bool:
        """Whether a part did anything to speak of beside the others."""
        if self.result is None:
            return False
        for one in self.result.parts:
            if one.part == part:
                # a leg of steps is alone for too short a time to learn what a part can do
                alone_per_s = max(one.alone_per_s, self.alone_per_s.get(part, 0.0))
                least: float = LEAST_BESIDE * alone_per_s * self.result.worked_s
                return one.done > least
        return False

    def wrong(self, part: str) -> list[PartFault]:
        """What was wrong of one part."""
        return [fault for fault in self.faults if fault.part == part]


def carry_out_leg(context: StageContext[Any], job: AllAtOnce, leg: Leg) -> None:
    """Work; what is wrong is on record the moment that it is heard of."""

    def on_event(event: WorkEvent) -> None:
        if isinstance(event, TogetherResult):
            leg.result = event
        elif isinstance(event, PartFault):
            if not leg.wrong(event.part):
                _tell_first(context, event, leg.rate_hz)
            leg.faults.append(event)
        elif isinstance(event, PhaseBegan):
            leg.works = event.works
        elif isinstance(event, Progress):
            leg.together = leg.together or event.done > 0.0
            context.progress(event.done, event.total, event.unit, event.note)
        elif isinstance(event, Started):
            context.note(event.plan)

    run_job(context, job, on_event, leg.sample, lambda: float(leg.works))


def _tell_first(context: StageContext[Any], fault: PartFault, rate_hz: float) -> None:
    """A run that is cut after this still knows of it."""
    name = f"first_wrong_{'in_steps' if rate_hz else 'together'} {fault.part}"
    if not any(reading.name == name for reading in context.readings):
        why = why_wrong(fault.part, fault.wrong, fault, rate_hz)
        context.take(judge(name, float(fault.wrong), "", Limit(0, 0), why_fail=why))


def why_wrong(part: str, wrong: int, first: PartFault, rate_hz: float) -> Reason:
    """What was wrong, when it was first, and in which phase of a step."""
    named = PARTS[part]()
    if first.at_s is None:
        return TogetherReason.WRONG_ALONE(part=named, wrong_count=wrong)
    if rate_hz:
        return TogetherReason.WRONG_IN_STEPS(
            part=named, wrong_count=wrong, rate_hz=rate_hz, at_s=first.at_s,
            phase_pct=100.0 * first.phase,
        )  # fmt: skip
    return TogetherReason.WRONG_TOGETHER(part=named, wrong_count=wrong, at_s=first.at_s)
