"""Compute: one result, computed again and again under load, must repeat to the bit."""

from __future__ import annotations

from burnin.core.reading import Limit, judge, not_measured
from burnin.engine.job import ComputeResult, Progress, RepeatedCompute, Started, WorkEvent
from burnin.profile.model import Compute
from burnin.stages.context import StageContext
from burnin.stages.load import run_job

_BEGINS_WITHIN_S = 5.0
"""An engine may take so long until its work begins."""


def carry_out(context: StageContext, settings: Compute) -> None:
    """Repeat the computation for the asked time and judge repeats and reference."""
    results: list[ComputeResult] = []

    def on_event(event: WorkEvent) -> None:
        if isinstance(event, ComputeResult):
            results.append(event)
        elif isinstance(event, Progress):
            context.progress(event.done, event.total, event.unit, event.note)
        elif isinstance(event, Started):
            context.note(event.plan)

    job = RepeatedCompute(settings.load_s, settings.seed, settings.duty)
    context.load_lasts(settings.load_s + _BEGINS_WITHIN_S, "the same work for its time")
    try:
        run_job(context, job, on_event)
    finally:
        context.plan_load(None)
        if not results:
            reason = "the computation did not come to its end"
            context.take(not_measured("results_that_changed", "", reason))
    result = results[0]
    why = f"{result.mismatches} results differed from the first"
    if result.examples:
        first = result.examples[0]
        why += (
            f", first in {first.unit} repeat {first.repeat} at index {first.index}: "
            f"0x{first.expected:08x} became 0x{first.got:08x}"
        )
    context.take(
        judge(
            "results_that_changed",
            float(result.mismatches),
            "",
            Limit(0, 0),
            source="every repeat compared with the first, bit by bit",
            why_fail=why,
        )
    )
    for unit, failures in result.reference_failures.items():
        context.take(
            judge(
                f"wrong_against_processor {unit}",
                float(failures),
                "",
                Limit(0, 0),
                source="a sample computed again by the bench's processor",
                why_fail=f"{failures} of the sampled {unit} results are wrong",
            )
        )
    for unit, count in result.results.items():
        context.take(judge(f"results_compared {unit}", float(count), "", None, required=False))
    context.take(
        judge("compute_repeats", float(result.repeats), "", Limit(lower=2.0))
    )
