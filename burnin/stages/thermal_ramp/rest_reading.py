"""Whether the heat of a card without fans of its own came to rest: the bench takes it away.

A block without its loop, or a passive card without its stream of air, is a capacity without a way
out. A short load warms it by a few kelvin, all its limits hold, and nothing of the cooling was
shown: that stays owed. A ramp that plans itself tells the state of the cooling instead, and one
that ends by its joules knows that there is no loop.
"""

from __future__ import annotations

from collections.abc import Iterator

from burnin.core.reading import NotMeasured, Reading, Verdict, judge_text
from burnin.stages.thermal_ramp.meanings import ThermalRampReason
from burnin.stages.thermal_ramp.ramp_trace import RampTrace
from burnin.stages.thermal_ramp.settings import ThermalRamp
from burnin.thermal.heat_course import HeatCourse

NAME = "heat_came_to_rest"


def rest_readings(
    trace: RampTrace, settings: ThermalRamp, fan_count: int | NotMeasured
) -> Iterator[Reading]:
    """One reading of a ramp of steps on a card that tells of no fan; of others none."""
    by_joules = settings.own_plan is not None or settings.heat_budget_j is not None
    if by_joules or trace.fans.told_count or not isinstance(fan_count, NotMeasured):
        return
    course = HeatCourse()
    for step in trace.steps:
        for sample in step:
            course.add(sample)
        course.end()
    if course.keeps_rising is None:
        return
    if not course.keeps_rising:
        yield judge_text(NAME, "yes", ("yes",), required=False)
        return
    why = ThermalRampReason.NEVER_AT_REST()
    yield Reading(NAME, "no", "", allowed=("yes",), verdict=Verdict.UNSURE, reason=why)
