"""One run while it goes on: each stage carried out, or the reason why it was not."""

from __future__ import annotations

import traceback
from collections.abc import Sequence
from typing import Any

from burnin.core.errors import (
    DeviceLost,
    EngineError,
    RefusedBySystem,
    StoppedByHand,
    WorkerSilent,
)
from burnin.core.events import (
    Noted,
    Publish,
    ReadingTaken,
    StageFinished,
    StageStarted,
)
from burnin.core.meaning import Reason
from burnin.core.reading import (
    Reading,
    Verdict,
    judge_text,
    known,
)
from burnin.core.verdict import (
    WHOLE_RUN,
    Ended,
    OwedWork,
    StageOutcome,
    StageVerdict,
    owed_of_stage,
    stage_verdict,
)
from burnin.guard.factory import make_guards
from burnin.guard.sampler import LoadStopped, Watch
from burnin.profile.model import Stage
from burnin.run.closing import closing_readings
from burnin.run.cool_first import cool_first
from burnin.run.engine_proof import EngineProven
from burnin.run.guard_facts import facts_of_card
from burnin.run.kernel_watch import KernelWatch
from burnin.run.leave.waiting import give_back, leave_for
from burnin.run.not_carried_out import Judged, unloaded, without
from burnin.run.plan import RunPlan
from burnin.run.prompters import OnRecord
from burnin.run.reasons import RunNote, RunReason
from burnin.run.watched_load import why_unwatched
from burnin.stages.boot import StartsKept
from burnin.stages.context import NOTHING_BEFORE, StageContext, offer
from burnin.stages.counters_kept import counters_read
from burnin.stages.registry import stage_kind
from burnin.stages.thermal_ramp.settings import ThermalRamp
from burnin.stages.thermal_ramp.sparing import share_reached
from burnin.stages.whole_run.observed import LINK_ERRORS, Observed


class Conduct:
    """The state of one run while it goes on."""

    def __init__(
        self, plan: RunPlan, publish: Publish, kernel: KernelWatch, observed: Observed
    ) -> None:
        self.kernel, self._observed = kernel, observed
        self._plan, self._publish, self._bench = plan, publish, plan.bench
        card = plan.bench.card
        self.watch = Watch(
            None if plan.bench.no_card else card,
            make_guards(plan.profile.guards, facts_of_card(card)),
            plan.bench.clock,
            publish,
            plan.stop_asked,
            plan.start_s,
            plan.profile.pace.period_s,
        )
        self.outcomes: list[StageOutcome] = []
        self.readings: list[Reading] = []
        self.owed: list[OwedWork] = []
        self.ended = Ended.DONE
        self.end_reason: Reason | None = None
        self._spared: Reason | None = None
        self._ramped_share = 0.0
        self._load_ended_s: float | None = None
        self.last_stage = ""
        identity = plan.bench.identity
        self._memory_bytes = (known(identity.memory_bytes) or 0) if identity else 0
        self._proven = EngineProven(plan)

    def stage(self, name: str, stage: Stage) -> None:
        """Carry out one stage, or name the reason why it was not."""
        plan, kind = self._plan, stage_kind(stage.stage)
        if name in plan.earlier.outcomes:
            outcome = plan.earlier.outcomes[name]
            if name in plan.carried_over:
                self._carry_over(outcome)
            self._file(outcome, plan.earlier.readings.get(name, ()), stage)
            return
        self._publish(StageStarted(name, stage.stage, stage.title, kind.expected_s(stage)))
        context = self._context(name, stage)
        self.last_stage = name
        why_not = self._why_not(name, stage)
        verdict, reasons = (
            self._attempt(context, stage) if why_not is None else without(context, why_not)
        )
        self._publish(StageFinished(name, stage.stage, verdict, reasons))
        outcome = StageOutcome(name, stage.stage, stage.title, verdict, reasons)
        self._file(outcome, context.readings, stage)

    def _carry_over(self, done: StageOutcome) -> None:
        """Put on this record what another run of the ticket has shown, with its source."""
        self._publish(StageStarted(done.stage, done.kind, done.own_title, 0.0, taken_over=True))
        for reading in self._plan.earlier.readings.get(done.stage, ()):
            self._publish(ReadingTaken(reading))
        self._publish(StageFinished(done.stage, done.kind, done.verdict, done.reasons))

    def _file(self, outcome: StageOutcome, readings: Sequence[Reading], stage: Stage) -> None:
        self.outcomes.append(outcome)
        self.readings.extend(readings)
        spares = stage_kind(stage.stage).spares_load
        if self._spared is None and spares is not None:
            self._spared = spares(stage, readings)
        self.owed.extend(owed_of_stage(outcome, readings))
        own = outcome.stage not in self._plan.carried_over
        if own and outcome.verdict is StageVerdict.PASS and isinstance(stage, ThermalRamp):
            limit_w = known(self._bench.card.ratings().own_power_limit_w)
            self._ramped_share = max(self._ramped_share, share_reached(stage, limit_w))

    def count_errors(self) -> None:
        """Look at the error counters between stages: they are judged for the whole run.

        What they stand at is on record before it counts; a run that is gone on with begins there.
        """
        if not self._bench.no_card:
            self._publish(counters_read("", LINK_ERRORS, self._bench.card.error_counters()))

    def close(self) -> None:
        """The closing part: what stages have shown, judged to the end of the run (law 14)."""
        if self._bench.no_card:
            return
        self.count_errors()
        readings = closing_readings(
            self._plan, self._observed, self.kernel, self._load_ended_s, self.readings
        )
        if all(r.verdict in (None, Verdict.NOT_MEASURED) and not r.required for r in readings):
            return  # no stage took a sample, and nothing else was to be had
        self._publish(StageStarted(WHOLE_RUN, WHOLE_RUN, "", 0.0))
        for reading in readings:
            self._publish(ReadingTaken(reading))
        verdict, reasons = stage_verdict(readings)
        self._publish(StageFinished(WHOLE_RUN, WHOLE_RUN, verdict, reasons))
        outcome = StageOutcome(WHOLE_RUN, WHOLE_RUN, "", verdict, reasons)
        self.outcomes.append(outcome)
        self.readings.extend(readings)
        self.owed.extend(owed_of_stage(outcome, readings))

    def _context(self, name: str, stage: Stage) -> StageContext[Any]:
        plan, bench = self._plan, self._bench
        kept_here = StartsKept(
            plan.folder / "cold_starts.jsonl", "", f"burnin run --resume {plan.folder}"
        )
        return StageContext(
            stage=name,
            card=offer(bench.card, stage_kind(stage.stage).capabilities),
            cards_found=bench.cards_found,
            memory_bytes=self._memory_bytes,
            engine=bench.engine,
            watch=self.watch,
            clock=bench.clock,
            publish=self._publish,
            prompter=OnRecord(plan.prompter, name, self._publish),
            record_folder=plan.folder,
            sample_interval_s=plan.profile.pace.period_s,
            optional=stage.optional,
            rule=plan.profile.decision.rule(),
            accuracy=plan.profile.decision.accuracy(),
            soak_so_far=plan.earlier.soaks.get(name),
            interrupted=plan.earlier.interrupted.get(name, NOTHING_BEFORE),
            readings=list(plan.earlier.failed_before.get(name, ())),
            boot=bench.boot,
            bench_shown=plan.opening.bench_shown,
            passed=self._passed(),
            ramped_share=self._ramped_share,
            starts=plan.starts or kept_here,
            under_load=plan.profile.under_load,
        )

    def _passed(self) -> frozenset[str]:
        """Kinds of stages that have passed in this run, as often as they were carried out."""
        own = [o for o in self.outcomes if o.stage not in self._plan.carried_over]
        bad = {outcome.kind for outcome in own if outcome.verdict is not StageVerdict.PASS}
        return frozenset({outcome.kind for outcome in own} - bad)

    def _why_not(self, name: str, stage: Stage) -> Reason | None:
        """Why this stage cannot be carried out, or nothing."""
        kind = stage_kind(stage.stage)
        if self.ended is not Ended.DONE and self.end_reason is not None:
            return RunReason.NOT_REACHED(reason=self.end_reason)
        if stage.stage in self._plan.left_out:
            return RunReason.LEFT_OUT_BY_HAND()
        if name in self._plan.left_out_why:
            return self._plan.left_out_why[name]
        if kind.works and self._spared is not None:
            return self._spared
        return self._bench.no_card if kind.needs_card else None

    def _attempt(self, context: StageContext[Any], stage: Stage) -> Judged:
        """Verdict and reasons of a stage, whatever ends it."""
        plan, kind = self._plan, stage_kind(stage.stage)
        try:
            if not self._bench.no_card:
                too_warm = cool_first(context, stage)
                if too_warm is not None:
                    return without(context, too_warm)
            if kind.works:
                unwatched = why_unwatched(context)
                if unwatched is not None:
                    return unloaded(context, stage, unwatched)
                never = leave_for(context, plan.leave, stage, plan.profile, plan.bench.card)
                if never is not None:
                    return unloaded(context, stage, never)
                self._proven.before_load(context)
            kind.carry_out(context, stage)
            if kind.works:
                give_back(context, plan.leave)
        except LoadStopped as stop:
            context.tell_trip(stop.trip)
            self.ended, self.end_reason = Ended.TRIPPED, stop.trip.reason
            self._load_ended_s = self.watch.elapsed_s()
            verdict, failed = stage_verdict(context.readings)
            if verdict is StageVerdict.FAIL:
                self.end_reason = RunReason.TRIPPED_AFTER_FAILURES(
                    reason=stop.trip.reason, reasons=failed
                )
            return StageVerdict.ABORTED, (self.end_reason,)
        except StoppedByHand as stop:
            self.ended, self.end_reason = Ended.STOPPED_BY_HAND, stop.reason
            return StageVerdict.NOT_MEASURED, (stop.reason,)
        except DeviceLost as lost:
            self.ended, self.end_reason = Ended.FAILED, RunReason.CARD_GONE()
            self._load_ended_s = self.watch.elapsed_s()
            gone = RunReason.CARD_GONE_AT_WORK(reason=lost.reason)
            context.take(judge_text("card_kept_working", "no", ("yes",), why_fail=gone))
        except WorkerSilent as hung:
            # What hung once is given no further load; nobody can tell yet whose fault it is.
            self.ended, self.end_reason = Ended.FAILED, hung.reason
            self._load_ended_s = self.watch.elapsed_s()
            return without(context, hung.reason)
        except RefusedBySystem:
            raise  # nothing can be put on record any more
        except EngineError as error:
            return without(context, error.reason)
        except Exception as error:
            told = {"error": type(error).__name__, "words": str(error)}
            note = RunNote.STAGE_BROKE(**told, traceback=traceback.format_exc())
            self._publish(Noted(context.stage, note))
            return without(context, RunReason.TOOL_FAILED(**told))
        finally:
            if kind.works:
                plan.leave.over()  # the load is off, however the stage ended
        return stage_verdict(context.readings)
