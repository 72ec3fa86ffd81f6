"""The closing readings of a run: what held to its end, what the kernel said, what others showed."""

from __future__ import annotations

from collections.abc import Sequence

from burnin.core.reading import Reading, of_stage
from burnin.core.verdict import WHOLE_RUN
from burnin.run.kernel_watch import KernelWatch
from burnin.run.plan import RunPlan
from burnin.run.proven.sisters import sister_readings
from burnin.stages.whole_run.closing_part import closing_part
from burnin.stages.whole_run.observed import Observed


def closing_readings(
    plan: RunPlan,
    observed: Observed,
    kernel: KernelWatch,
    load_ended_s: float | None,
    readings: Sequence[Reading],
) -> list[Reading]:
    """All of them, filed under the closing part; `readings` are those of the run's stages."""
    found = (
        *closing_part(observed, load_ended_s),
        *kernel.readings(),
        *sister_readings(plan.opening, plan.folder.parent.parent, readings),
    )
    return [of_stage(reading, WHOLE_RUN) for reading in found]
