"""The closing readings of a run: what held to its end, what the kernel said, what others showed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from burnin.card.meanings import CardReason
from burnin.core.reading import NotMeasured, Reading, judge_text, known, of_stage
from burnin.core.verdict import WHOLE_RUN
from burnin.run.kernel_watch import KernelWatch
from burnin.run.plan import RunPlan
from burnin.run.proven.sisters import sister_readings
from burnin.stages.whole_run.closing_part import closing_part
from burnin.stages.whole_run.meanings import WholeRunReason
from burnin.stages.whole_run.observed import Observed

DRIVER = "whole_run_driver"
"""Which driver has the card at the end of a run."""


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
        *_driver_held(plan),
        *sister_readings(plan.opening, plan.folder.parent.parent, readings),
    )
    return [of_stage(reading, WHOLE_RUN) for reading in found]


def _driver_held(plan: RunPlan) -> Iterator[Reading]:
    """A driver that had the card when the run began must have it at its end.

    A card that is gone has no driver either: that is told by others.
    """
    then = None if plan.opening.card is None else known(plan.opening.card.driver)
    if then is None or not plan.bench.card.present():
        return
    now = plan.bench.card.identity().driver
    if isinstance(now, NotMeasured) and now.reason.means(CardReason.NO_ANSWER):
        yield judge_text(DRIVER, now, (then,))
        return
    why = WholeRunReason.DRIVER_LEFT(driver=then)
    yield judge_text(DRIVER, known(now) or "none", (then,), why_fail=why)
