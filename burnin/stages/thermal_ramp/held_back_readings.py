"""What a ramp gave up on a warning, and how long it waited and rested for one."""

from __future__ import annotations

from collections.abc import Iterator

from burnin.core.reading import Reading, judge, judge_text, not_measured
from burnin.stages.thermal_ramp.ramp_trace import RampTrace
from burnin.stages.thermal_ramp.settings import ThermalRamp

NAME = "load_as_planned"


def held_back_readings(trace: RampTrace, settings: ThermalRamp) -> Iterator[Reading]:
    """Of a ramp whose profile lets it hold back; what was given up is not measured."""
    if settings.on_warning is None:
        return
    if trace.gave_up is not None:
        yield not_measured(NAME, "", trace.gave_up)
    elif trace.cut is not None:
        yield not_measured(NAME, "", trace.cut, required=False)
    else:
        yield judge_text(NAME, "yes", ("yes",))
    yield judge("waited_on_warning_s", trace.waited_s, "s", None, required=False)
    yield judge("rested_on_warning_s", trace.rested_s, "s", None, required=False)
