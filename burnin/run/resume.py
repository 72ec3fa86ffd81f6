"""An interrupted record read back: what is proven, what is to do, and how the run goes on."""

from __future__ import annotations

from contextlib import ExitStack
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from burnin.core.clock import moment_of
from burnin.core.errors import BadInput, HeldByAnotherRun, RecordError
from burnin.core.events import CountersRead, PromptOpened
from burnin.core.identity import Identity
from burnin.core.meaning import Reason
from burnin.core.plain import plain
from burnin.core.reading import Reading, Verdict, known
from burnin.core.verdict import WHOLE_RUN, Ended, StageOutcome, StageVerdict
from burnin.engine.job import FailingWord
from burnin.profile.loader import LoadedProfile, profile_of_text
from burnin.record.reader import Record, read_record
from burnin.record.readings import latest
from burnin.record.schema.run import FORMAT, StageRow
from burnin.replay.verdicts import judge_anew
from burnin.run.begin import opening_of, options_from
from burnin.run.bench import card_text, open_bench_for
from burnin.run.card_lock import holder_of
from burnin.run.plan import Earlier, RunPlan
from burnin.run.proven.shown import USUAL_AGE, ProofAge
from burnin.run.reasons import RunNote, RunReason, RunRefusal
from burnin.run.record_lock import RecordLock, lock_record
from burnin.stages.context import Interrupted
from burnin.stages.registry import stage_kind

_PROVEN = (StageVerdict.PASS, StageVerdict.FAIL, StageVerdict.CONDITIONAL)
"""A stage with one of these came to its end; anything else was in flight, or never began."""


def plan_again(folder: Path, age: ProofAge = USUAL_AGE) -> RunPlan:
    """Go on with an interrupted record: its own profile, its own options, its own card.

    Raises RecordError where nothing can be gone on with, BadInput for another card, NoCard.
    """
    with ExitStack() as given_up:
        held = _held(folder)  # before it is read: whoever writes it now would go on after that
        given_up.callback(held.release)
        plan = _planned_again(folder, age, given_up)
        given_up.pop_all()
    return replace(plan, held=held)


def _planned_again(folder: Path, age: ProofAge, given_up: ExitStack) -> RunPlan:
    record = read_record(folder)
    earlier = read_earlier(record)
    run = record.run
    loaded = profile_of(record)
    options = options_from(run.options)
    opened = open_bench_for(options)
    given_up.callback(opened.close)
    if opened.identity is not None and run.card is not None:
        _same_card(folder, opened.identity, run.card)
    clock = opened.clock
    # A simulated clock may have run ahead of the wall: elapsed_s must go on rising.
    # Whole milliseconds, so that moments on record have no more digits than the clock's own.
    passed_s = max(
        round(seconds_since(run.started_utc, clock.utc()), 3), record.last_elapsed_s + 1.0
    )
    again = opening_of(opened, loaded, run.ticket, run.run_id, folder, options, age)
    opening = replace(again, started_utc=run.started_utc, resumed=run.resumed + 1)
    start_s = clock.monotonic_s() - passed_s
    notes = tuple(
        RunNote.DONE_AGAIN(stage=stage, reason=why) for stage, why in earlier.doubted.items()
    )
    return RunPlan(
        opening, loaded.profile, opened, folder, start_s, earlier=earlier, notes=notes
    )


def _held(folder: Path) -> RecordLock:
    """The record held; who refuses it is named where the lock of its card knows."""
    try:
        return lock_record(folder)
    except HeldByAnotherRun:
        card = read_record(folder).run.card
        holder = None if card is None else holder_of(card.address)
        if card is None or holder is None or Path(holder.record) != folder.absolute():
            raise
        raise HeldByAnotherRun(holder.reason(card.address)) from None


def read_earlier(record: Record) -> Earlier:
    """Finished stages of a record that hold, judged anew from its readings.

    Raises RecordError where nothing can be gone on with: the run came to its end, or the record was
    edited, is damaged, foreign, or has no chain.
    """
    folder, run = record.folder, record.run
    if record.format_read != FORMAT:
        raise RecordError(RunRefusal.OLDER_FORMAT(folder=str(folder), format=record.format_read))
    judged = judge_anew(record)
    if judged.unsound:
        raise RecordError(RunReason.NOT_GONE_ON_WITH(folder=str(folder), flaws=judged.unsound))
    if run.ended is Ended.DONE and not any(map(_is_open, record.stages)):
        raise RecordError(RunRefusal.AT_ITS_END(folder=str(folder), verdict=run.verdict.value))
    outcomes: dict[str, StageOutcome] = {}
    readings: dict[str, tuple[Reading, ...]] = {}
    failed: dict[str, tuple[Reading, ...]] = {}
    doubted: dict[str, Reason] = {}
    interrupted: dict[str, Interrupted] = {}
    for stage in record.stages:
        if stage.kind == WHOLE_RUN:
            continue  # speaks of the run until its end, and is made anew there
        its_own = record.readings_of(stage.stage)
        why_not = judged.why_not_taken_over(stage.stage)
        if stage.verdict not in _PROVEN or _is_open(stage) or why_not is not None:
            failed[stage.stage] = tuple(r for r in its_own if r.verdict is Verdict.FAIL)
            interrupted[stage.stage] = _interrupted(record, stage.stage)
            if why_not is not None:
                doubted[stage.stage] = why_not
            continue
        outcomes[stage.stage] = stage.outcome()
        readings[stage.stage] = latest(its_own)
    soaks = {
        name: sums
        for name, sums in record.traffic.items()
        if name not in outcomes and name not in doubted
    }
    prompts = sum(1 for _ in record.events(PromptOpened.__name__))
    return Earlier(outcomes, readings, failed, soaks, doubted, interrupted, prompts)


def _interrupted(record: Record, stage: str) -> Interrupted:
    """What a stage that is done again had put on record, beside its readings and traffic."""
    counters: dict[str, CountersRead] = {}
    for entry in record.events(CountersRead.__name__):
        told = entry.counters()
        if told is not None and told.stage == stage and told.missing is None:
            counters.setdefault(told.of, told)
    words = tuple(
        FailingWord(
            int(row.address_bytes, 16), int(row.expected, 16), int(row.got, 16), row.pattern
        )
        for row in record.failing_words_of(stage)
    )
    return Interrupted(counters, words)


def profile_of(record: Record) -> LoadedProfile:
    """The profile that a record's run was carried out under; raises ProfileError."""
    kept = record.run.profile
    return profile_of_text(kept.name, kept.file, kept.text)


def _is_open(stage: StageRow) -> bool:
    """Some stages come to their end only after several boots of the bench."""
    if stage.kind == WHOLE_RUN:
        return False
    return stage_kind(stage.kind).goes_on_after_end and stage.verdict is not StageVerdict.PASS


def _same_card(folder: Path, now: Identity, then: Identity) -> None:
    """Raise BadInput where another card than the record's is on this bench."""
    if (now.vendor_id, now.device_id) != (then.vendor_id, then.device_id):
        raise BadInput(RunRefusal.OTHER_CARD(folder=str(folder), card=card_text(then)))
    serial = known(then.serial)
    if serial is not None and plain(now.serial) != serial:
        raise BadInput(RunRefusal.OTHER_SERIAL(folder=str(folder), serial=str(serial)))


def seconds_since(started_utc: str, now: datetime) -> float:
    """Wall time since the run began, so that elapsed_s goes on rising after a power cut."""
    began = moment_of(started_utc)
    return 0.0 if began is None else max(0.0, (now - began).total_seconds())
