"""Carries out the stages of a profile on a card, as a stream of events.

Clean-up always runs, in reverse order, and knows why (law 11): load off first, then the cool-down
watched (`clean_up.py`), then the record closed (`session.py`).
"""

from __future__ import annotations

from burnin.core.clock import iso
from burnin.core.events import (
    Event,
    Noted,
    Publish,
    RunFinished,
    RunStarted,
)
from burnin.core.meaning import Note
from burnin.core.system import ours
from burnin.core.verdict import (
    OwedWhat,
    OwedWork,
    owed_to_decide,
    run_verdict,
)
from burnin.profile.model import stage_name
from burnin.run.clean_up import make_safe
from burnin.run.conduct import Conduct
from burnin.run.earlier_samples import observed_so_far
from burnin.run.kernel_watch import KernelWatch, place_of
from burnin.run.leave.giver import seeing
from burnin.run.neighbours import Neighbours, sharing_a_link
from burnin.run.plan import RunOutcome, RunPlan


def carry_out(plan: RunPlan, publish: Publish) -> RunOutcome:
    """Run every stage in order; always publishes RunFinished, whatever happens in between.

    But a record that cannot be written ends the run at once, its load off first: raises
    RefusedBySystem, and the record stays incomplete.
    """
    publish = seeing(plan.leave, _ending_with_the_record(publish))
    kernel = KernelWatch(plan.bench.kernel_log, place_of(plan.bench), plan.bench.clock, publish)
    publish = Neighbours(sharing_a_link(plan.bench.card), kernel.publish).publish
    observed = observed_so_far(plan)
    publish = observed.publishing(publish)
    conduct = Conduct(plan, publish, kernel, observed)
    clock, stages = plan.bench.clock, plan.profile.stages
    names = tuple(stage_name(n, s) for n, s in enumerate(stages, start=1))
    publish(RunStarted(plan.opening.run_id, iso(clock.utc()), plan.opening, names))
    for note in (*plan.notes, *_of_the_lock(plan)):
        publish(Noted("", note))
    conduct.count_errors()
    try:
        for name, stage in zip(names, stages, strict=True):
            conduct.stage(name, stage)
            conduct.count_errors()
    finally:
        make_safe(plan, conduct.watch, conduct.last_stage, conduct.ended, publish)
    conduct.close()
    conduct.watch.tell_forecasts()
    outcomes, readings, ended = conduct.outcomes, conduct.readings, conduct.ended
    seen = observed.seen(plan.opening.bench_shown, readings)
    owed = (
        *(o.as_owed() for o in plan.profile.owed),
        *plan.ticket_owed,
        *conduct.owed,
        *_owed_without_card(plan),
        *owed_to_decide(outcomes, readings, seen),
    )
    verdict, reason = run_verdict(outcomes, owed, ended, conduct.end_reason, readings, seen)
    publish(RunFinished(iso(clock.utc()), verdict, reason, ended, owed))
    return RunOutcome(verdict, reason, ended, tuple(conduct.outcomes), owed, plan.folder)


def _of_the_lock(plan: RunPlan) -> tuple[Note, ...]:
    lock = plan.bench.lock
    return () if lock is None or lock.fell_back is None else (lock.fell_back,)


def _owed_without_card(plan: RunPlan) -> tuple[OwedWork, ...]:
    """Where something else did a card's work, all of the run is owed, whatever the profile asks."""
    no_card = plan.bench.no_card
    return (OwedWork("", OwedWhat.WHOLE_RUN(), no_card),) if no_card is not None else ()


def _ending_with_the_record(publish: Publish) -> Publish:
    """Publish; what the operating system refuses the record is an error of our tree."""

    def put(event: Event) -> None:
        try:
            publish(event)
        except OSError as error:
            raise ours(error) from error

    return put
