"""What a run is going to do, what is already proven, and how it ended."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from burnin.core.events import TrafficSummed
from burnin.core.meaning import Note, Reason
from burnin.core.opening import Opening
from burnin.core.reading import Reading
from burnin.core.verdict import Ended, OwedWork, RunVerdict, StageOutcome
from burnin.profile.model import Profile
from burnin.run.bench import OpenBench
from burnin.run.leave.giver import AlwaysGiven, LeaveGiver
from burnin.run.prompters import NobodyThere
from burnin.run.record_lock import RecordLock
from burnin.stages.boot import StartsKept
from burnin.stages.context import Interrupted, Prompter


@dataclass(frozen=True)
class Earlier:
    """What an interrupted run has already proven: outcome and readings by stage.

    `failed_before`: readings that failed in a stage that was in flight. The stage is done again,
    but what has failed once stays failed. `soaks`: sums of link traffic already on record.
    `interrupted`: what else a stage in flight had put on record.
    `doubted`: stages that came to their end and are done again all the same, and why.
    `prompts_count`: prompts that were put so far.
    """

    outcomes: Mapping[str, StageOutcome] = field(default_factory=dict)
    readings: Mapping[str, tuple[Reading, ...]] = field(default_factory=dict)
    failed_before: Mapping[str, tuple[Reading, ...]] = field(default_factory=dict)
    soaks: Mapping[str, TrafficSummed] = field(default_factory=dict)
    doubted: Mapping[str, Reason] = field(default_factory=dict)
    interrupted: Mapping[str, Interrupted] = field(default_factory=dict)
    prompts_count: int = 0


def _never() -> bool | Reason:
    return False


@dataclass(frozen=True)
class RunPlan:
    """Everything that a run needs.

    `start_s` is the moment on the bench's clock from which elapsed seconds count. `left_out` names
    kinds of stages that are left out by hand. A ticket adds: `left_out_why`, by name of stage, what
    is put off and why; `ticket_owed`; `carried_over`, stages in `earlier` that another run showed;
    `notes` for the journal; `starts`, where cold starts are kept (None: in the run's own record).
    `held`: the record's folder, already held by this run. `stop_asked`: whether somebody wants the
    run to end, or the reason why. `leave`: who says when a stage may load the card.
    """

    opening: Opening
    profile: Profile
    bench: OpenBench
    folder: Path
    start_s: float
    prompter: Prompter = field(default_factory=NobodyThere)
    stop_asked: Callable[[], bool | Reason] = _never
    earlier: Earlier = field(default_factory=Earlier)
    left_out: frozenset[str] = frozenset()
    left_out_why: Mapping[str, Reason] = field(default_factory=dict)
    ticket_owed: tuple[OwedWork, ...] = ()
    carried_over: frozenset[str] = frozenset()
    notes: tuple[Note, ...] = ()
    starts: StartsKept | None = None
    held: RecordLock | None = None
    leave: LeaveGiver = field(default_factory=AlwaysGiven)


@dataclass(frozen=True)
class RunOutcome:
    """How a run ended, and the folder of its record."""

    verdict: RunVerdict
    reason: Reason
    ended: Ended
    stages: tuple[StageOutcome, ...]
    owed: tuple[OwedWork, ...]
    folder: Path
