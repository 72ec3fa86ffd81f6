"""Carries out the stages of a profile on a card, as a stream of events.

Clean-up always runs, in reverse order, and knows why (law 11): load off first, then the cool-down
watched, then the record closed.
"""

from __future__ import annotations

import traceback
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from burnin.card.card import Card
from burnin.core.clock import Clock, iso
from burnin.core.errors import DeviceLost, EngineError, StoppedByHand
from burnin.core.events import (
    Noted,
    OwedWork,
    Publish,
    ReadingTaken,
    RunFinished,
    RunStarted,
    StageFinished,
    StageStarted,
)
from burnin.core.reading import NotMeasured, Reading, known, not_measured
from burnin.core.verdict import StageOutcome, owed_of_stage, run_verdict, stage_verdict
from burnin.engine.engine import Engine
from burnin.guard.factory import fit_guards
from burnin.guard.sampler import LoadStopped, Watch
from burnin.profile.model import Profile, Stage, stage_name
from burnin.run.engine_proof import prove_engine
from burnin.stages.catalogue import STAGES, title_of
from burnin.stages.cold_starts.start_log import NOBODY_ASKED, Boot
from burnin.stages.context import Prompter, StageContext
from burnin.stages.thermal_ramp.further_load import no_more_load

TAKEN_OVER = " (taken over from an earlier run)"
CARD_GONE = "card stopped answering"
_COOL_AFTER_S = {"tripped": 20.0, "failed": 5.0, "stopped by hand": 2.0}


@dataclass(frozen=True)
class Earlier:
    """What an interrupted run has already proven: outcome and readings by stage.

    `failed_before`: readings that failed in a stage that was in flight. The stage is done again,
    but what has failed once stays failed. `soaks`: sums of link traffic already on record.
    """

    outcomes: Mapping[str, StageOutcome] = field(default_factory=dict)
    readings: Mapping[str, tuple[Reading, ...]] = field(default_factory=dict)
    failed_before: Mapping[str, tuple[Reading, ...]] = field(default_factory=dict)
    soaks: Mapping[str, Mapping[str, object]] = field(default_factory=dict)


@dataclass(frozen=True)
class RunPlan:
    """Everything that a run needs; `card` is None where software works the processor."""

    run_id: str
    profile: Profile
    facts: Mapping[str, object]
    card: Card
    no_card_reason: str
    cards_found: int
    engine: Engine | NotMeasured
    clock: Clock
    start_s: float
    prompter: Prompter
    folder: Path
    stop_asked: Callable[[], bool]
    other_cards: tuple[Card, ...] = ()
    left_out: frozenset[str] = frozenset()
    left_out_why: Mapping[str, str] = field(default_factory=dict)
    """By name of stage: put off on the ticket, and why."""
    ticket_owed: tuple[OwedWork, ...] = ()
    carried_over: frozenset[str] = frozenset()
    """Stages in `earlier` that another run showed: this record takes them over."""
    notes: tuple[str, ...] = ()
    resumed: int = 0
    boot: Boot | NotMeasured = NOBODY_ASKED
    earlier: Earlier = Earlier()


@dataclass(frozen=True)
class RunOutcome:
    """How a run ended."""

    verdict: str
    reason: str
    ended: str
    stages: tuple[StageOutcome, ...]
    owed: tuple[OwedWork, ...]


def carry_out(plan: RunPlan, publish: Publish) -> RunOutcome:
    """Run every stage in order; always publishes RunFinished, whatever happens in between."""
    conduct = _Conduct(plan, publish)
    names = tuple(stage_name(n, s) for n, s in enumerate(plan.profile.stages, start=1))
    publish(RunStarted(plan.run_id, iso(plan.clock.utc()), plan.facts, names))
    for note in plan.notes:
        publish(Noted("", note))
    try:
        for number, stage in enumerate(plan.profile.stages, start=1):
            conduct.stage(stage_name(number, stage), stage)
    finally:
        conduct.make_safe()
    owed = (
        *(OwedWork("", o.what, o.reason) for o in plan.profile.owed),
        *plan.ticket_owed,
        *conduct.owed,
    )
    verdict, reason = run_verdict(conduct.outcomes, owed, conduct.ended, conduct.end_reason)
    if plan.resumed:
        times = "once" if plan.resumed == 1 else f"{plan.resumed} times"
        reason += f"; the run was interrupted and resumed {times}"
    publish(RunFinished(iso(plan.clock.utc()), verdict, reason, conduct.ended, owed))
    return RunOutcome(verdict, reason, conduct.ended, tuple(conduct.outcomes), owed)


class _Conduct:
    """The state of one run while it goes on."""

    def __init__(self, plan: RunPlan, publish: Publish) -> None:
        self._plan, self._publish = plan, publish
        guards = fit_guards(plan.profile.guards, plan.card.resolution())
        watched = None if plan.no_card_reason else plan.card
        self._watch = Watch(
            watched, guards, plan.clock, publish, plan.stop_asked, plan.start_s
        )
        self.outcomes: list[StageOutcome] = []
        self.owed: list[OwedWork] = []
        self.ended, self.end_reason = "done", ""
        self._spared = ""
        self._last_stage = ""
        identity = None if plan.no_card_reason else plan.card.identity()
        self._memory_bytes = (known(identity.memory_bytes) or 0) if identity else 0
        self._engine_proven = bool(plan.no_card_reason)

    def stage(self, name: str, stage: Stage) -> None:
        """Carry out one stage, or name the reason why it was not."""
        plan, kind = self._plan, STAGES[stage.stage]
        if name in plan.earlier.outcomes:
            outcome = plan.earlier.outcomes[name]
            if name in plan.carried_over:
                self._carry_over(outcome)
            self._file(outcome, plan.earlier.readings.get(name, ()), stage)
            return
        title = title_of(stage)
        self._publish(StageStarted(name, stage.stage, title, kind.expected_s(stage)))
        context = self._context(name, stage)
        self._last_stage = name
        why_not = self._why_not(name, stage)
        if why_not:
            context.take(not_measured("stage", "", why_not))
            verdict, reason = "not measured", why_not
        else:
            verdict, reason = self._attempt(context, stage)
        outcome = StageOutcome(name, stage.stage, title, verdict, reason)
        self._publish(StageFinished(name, stage.stage, verdict, reason))
        self._file(outcome, context.readings, stage)

    def _carry_over(self, outcome: StageOutcome) -> None:
        """Put on this record what another run of the ticket has shown, with its source."""
        title = outcome.title.removesuffix(TAKEN_OVER) + TAKEN_OVER
        self._publish(StageStarted(outcome.stage, outcome.kind, title, 0.0))
        for reading in self._plan.earlier.readings.get(outcome.stage, ()):
            self._publish(ReadingTaken(reading))
        self._publish(
            StageFinished(outcome.stage, outcome.kind, outcome.verdict, outcome.reason)
        )

    def _file(self, outcome: StageOutcome, readings: Sequence[Reading], stage: Stage) -> None:
        self.outcomes.append(outcome)
        self._spared = self._spared or no_more_load(stage, readings)
        self.owed.extend(owed_of_stage(outcome, readings))

    def _context(self, name: str, stage: Stage) -> StageContext:
        plan = self._plan
        return StageContext(
            stage=name,
            card=plan.card,
            cards_found=plan.cards_found,
            memory_bytes=self._memory_bytes,
            engine=plan.engine,
            watch=self._watch,
            clock=plan.clock,
            publish=self._publish,
            prompter=plan.prompter,
            record_folder=plan.folder,
            sample_interval_s=plan.profile.pace.sample_interval_s,
            optional=stage.optional,
            soak_so_far=plan.earlier.soaks.get(name),
            readings=list(plan.earlier.failed_before.get(name, ())),
            boot=plan.boot,
        )

    def _why_not(self, name: str, stage: Stage) -> str:
        """Why this stage cannot be carried out, or nothing."""
        if self.ended != "done":
            return f"not reached: {self.end_reason}"
        if stage.stage in self._plan.left_out:
            return "left out by hand"
        if name in self._plan.left_out_why:
            return self._plan.left_out_why[name]
        if STAGES[stage.stage].works and self._spared:
            return self._spared
        if STAGES[stage.stage].needs_card:
            return self._plan.no_card_reason
        return ""

    def _attempt(self, context: StageContext, stage: Stage) -> tuple[str, str]:
        """Verdict and reason of a stage, whatever ends it."""
        try:
            too_warm = self._cool_first(context, stage)
            if too_warm:
                context.take(not_measured("stage", "", too_warm))
                return "not measured", too_warm
            if STAGES[stage.stage].works:
                self._prove_engine(context)
            STAGES[stage.stage].carry_out(context, stage)
        except LoadStopped as stop:
            trip = stop.trip
            context.tell_trip(trip)
            self.ended = "tripped"
            verdict, failed = stage_verdict(context.readings)
            told = f"; failed by then: {failed}" if verdict == "fail" else ""
            self.end_reason = trip.reason + told
            return "aborted", self.end_reason
        except StoppedByHand as stop:
            self.ended, self.end_reason = "stopped by hand", str(stop)
            return "not measured", str(stop)
        except DeviceLost as lost:
            self.ended, self.end_reason = "failed", CARD_GONE
            return "fail", f"{CARD_GONE}: {lost}"
        except EngineError as error:
            context.take(not_measured("stage", "", str(error)))
            verdict, reason = stage_verdict(context.readings)
            return (verdict, reason) if verdict == "fail" else ("not measured", str(error))
        except Exception as error:
            reason = f"the tool itself failed here: {type(error).__name__}: {error}"
            self._publish(
                Noted(context.stage, reason, {"traceback": traceback.format_exc()})
            )
            context.take(not_measured("stage", "", reason))
            return "not measured", reason
        return stage_verdict(context.readings)

    def _prove_engine(self, context: StageContext) -> None:
        """Once, before the first load: does the engine work this card? Raises EngineError."""
        if self._engine_proven or isinstance(self._plan.engine, NotMeasured):
            return
        proof = prove_engine(context, self._plan.other_cards)
        if proof.proven is False:
            raise EngineError(f"the engine does not work the card under test: {proof.why}")
        self._engine_proven = True

    def _cool_first(self, context: StageContext, stage: Stage) -> str:
        """Wait until the GPU is cool enough for the stage; why it cannot begin, or nothing."""
        below_c = stage.cool_below_c
        if below_c is None or self._plan.no_card_reason:
            return ""
        begin_s = self._plan.clock.monotonic_s()
        while True:
            temp_c = known(self._watch.look(context.stage).telemetry.gpu_temp_c)
            if temp_c is None:
                return "the GPU's temperature cannot be read, so nobody can say that it is cool"
            if temp_c < below_c:
                return ""
            waited_s = self._plan.clock.monotonic_s() - begin_s
            if waited_s > stage.cool_wait_s:
                return (
                    f"after {waited_s:.0f} s the GPU is still at {temp_c:.0f} °C; "
                    f"this stage begins below {below_c:g} °C"
                )
            context.progress(
                min(waited_s, stage.cool_wait_s),
                stage.cool_wait_s,
                "s",
                f"cooling: {temp_c:.0f} °C, begins below {below_c:g} °C",
            )
            self._plan.clock.sleep_s(1.0)

    def make_safe(self) -> None:
        """Load off, then watch the card cool; one failing step does not keep the next back."""
        for step in (self._end_engine, self._watch_cooling):
            try:
                step()
            except Exception as error:
                self._publish(
                    Noted(
                        self._last_stage,
                        f"clean-up: {type(error).__name__}: {error}",
                        {"traceback": traceback.format_exc()},
                    )
                )

    def _end_engine(self) -> None:
        if not isinstance(self._plan.engine, NotMeasured):
            self._plan.engine.close()

    def _watch_cooling(self) -> None:
        seconds = _COOL_AFTER_S.get(self.ended, 0.0)
        if self._plan.no_card_reason:
            return
        clock = self._plan.clock
        end_s = clock.monotonic_s() + seconds
        while clock.monotonic_s() < end_s:
            if not self._watch.observe(self._last_stage).present:
                return
            clock.sleep_s(self._plan.profile.pace.sample_interval_s)
