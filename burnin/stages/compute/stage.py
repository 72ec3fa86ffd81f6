"""Compute: one result, computed again and again under load, must repeat to the bit.

Repeats are compared with the card's own first result; a sample of it with what the bench's
processor computes (`burnin/engine/device/reference.py`).
"""

from __future__ import annotations

from burnin.core.meaning import Reason
from burnin.core.reading import Limit, judge, not_measured
from burnin.engine.job import ComputeResult, Progress, RepeatedCompute, Started, WorkEvent
from burnin.stages.compute.meanings import ComputeNote, ComputeReason, ComputeSource
from burnin.stages.compute.settings import Compute
from burnin.stages.context import StageContext
from burnin.stages.working import run_job

_BEGINS_WITHIN_S = 5.0
"""An engine may take so long until its work begins."""


def carry_out(context: StageContext[object], settings: Compute) -> None:
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
    context.load_lasts(settings.load_s + _BEGINS_WITHIN_S, ComputeNote.SAME_WORK())
    try:
        run_job(context, job, on_event)
    finally:
        context.plan_load(None)
        if not results:
            unfinished = ComputeReason.UNFINISHED()
            context.take(not_measured("results_that_changed", "", unfinished))
    _judge(context, results[0])


def _judge(context: StageContext[object], result: ComputeResult) -> None:
    context.take(
        judge(
            "results_that_changed",
            float(result.mismatches),
            "",
            Limit(0, 0),
            source=ComputeSource.EVERY_REPEAT(),
            why_fail=_changed(result),
        )
    )
    for unit, failures in result.reference_failures.items():
        context.take(
            judge(
                f"wrong_against_processor {unit}",
                float(failures),
                "",
                Limit(0, 0),
                source=ComputeSource.REFERENCE(),
                why_fail=ComputeReason.REFERENCE_WRONG(results_count=failures, unit=unit),
            )
        )
    for unit, count in result.results.items():
        context.take(judge(f"results_compared {unit}", float(count), "", None, required=False))
    for unit, why in result.not_offered.items():
        not_offered = ComputeReason.NOT_OFFERED(how=why)
        context.take(not_measured(f"results_compared {unit}", "", not_offered, required=False))
    for unit, why in result.not_made.items():  # it should be there: owed, never passed over
        context.take(not_measured(f"results_compared {unit}", "", why))
    if result.worked_on:
        # The unit that reached fewest: whether the work of a unit was spread over the whole card.
        unit, reached = min(result.worked_on.items(), key=lambda item: item[1])
        source = ComputeSource.OF_PROCESSORS(processors=result.processors, unit=unit)
        context.take(
            judge("processors_worked", float(reached), "", None, source=source, required=False)
        )
    if result.seconds > 0.0:
        # How many operations a clock give is not told by any interface: recorded only.
        rate = result.operations / result.seconds
        context.take(judge("compute_operations_per_s", rate, "1/s", None, required=False))
    context.take(judge("compute_repeats", float(result.repeats), "", Limit(lower=2.0)))


def _changed(result: ComputeResult) -> Reason:
    if not result.examples:
        return ComputeReason.CHANGED(results_count=result.mismatches)
    first = result.examples[0]
    return ComputeReason.CHANGED_FIRST_AT(
        results_count=result.mismatches,
        unit=first.unit,
        repeat=first.repeat,
        index=first.index,
        expected=first.expected,
        got=first.got,
    )
