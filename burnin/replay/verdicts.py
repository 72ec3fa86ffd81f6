"""A record's readings, stages and run judged anew from what was measured, by today's rules.

The guards judge samples anew (`records.py`); here values meet their limits once more, so that a
record of an older version, or one that somebody doubts, shows whether its verdict still follows.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from burnin.core.errors import ProfileError
from burnin.core.meaning import Meaning, Reason
from burnin.core.reading import Reading
from burnin.core.verdict import (
    OwedWork,
    RunVerdict,
    StageOutcome,
    StageVerdict,
    VerdictReason,
    owed_of_stage,
    owed_to_decide,
    run_verdict,
    stage_verdict,
)
from burnin.profile.loader import profile_of_text
from burnin.record.reader import Record
from burnin.record.reasons import RecordReason
from burnin.record.schema.run import StageRow
from burnin.replay.closing_anew import ClosingAnew
from burnin.replay.readings_anew import reading_anew
from burnin.replay.reasons import Disagreement
from burnin.stages.whole_run.of_record import observed_on, seen_on

_AT_ITS_END = (StageVerdict.PASS, StageVerdict.FAIL, StageVerdict.CONDITIONAL)

_NOT_JUDGED = "not judged"


@dataclass(frozen=True)
class JudgedAnew:
    """What follows today from a record's values, beside what the record says.

    `changed` holds each reading whose verdict is another now: as recorded, and as judged anew.
    `disagreements`: where run.json contradicts the journal, and (`Disagreement`) readings, stages
    and the run where the record says something else than follows. `unsound`: flaws of the record
    because of which none of it may be taken over.
    """

    verdict: RunVerdict
    reason: Reason
    stages: tuple[StageOutcome, ...]
    readings: tuple[Reading, ...]
    changed: tuple[tuple[Reading, Reading], ...]
    disagreements: tuple[Reason, ...] = ()
    unsound: tuple[Reason, ...] = ()

    @property
    def as_recorded(self) -> bool:
        """Whether every reading is judged as it was."""
        return not self.changed

    def why_not_taken_over(self, stage: str) -> Reason | None:
        """Why what the record says of a stage may not be taken over; None where it may."""
        if self.unsound:
            return self.unsound[0]
        of_it = (one for one in self.disagreements if dict(one.data).get("stage") == stage)
        return next(of_it, None)

    def holds(self, stage: str) -> bool:
        """Whether what the record says of a stage follows from data that nobody touched."""
        return self.why_not_taken_over(stage) is None


@lru_cache(maxsize=2)
def judge_anew(record: Record) -> JudgedAnew:
    """Judge every reading of a record anew, and from them its stages and its run; once a record.

    What a guard, a person or an error ended stays ended; what a stage held back on grounds of its
    own, and what was not measured, stays so.
    """
    run, rows, traffic = record.run, record.stages, record.traffic
    observed = observed_on(record)
    closing = ClosingAnew(record, observed)

    def anew(reading: Reading) -> Reading:
        return closing.reading(reading_anew(reading, traffic))

    pairs = tuple((reading, anew(reading)) for reading in record.readings)
    readings = (*(now for _, now in pairs), *closing.added_readings())
    of_stage = [tuple(map(anew, record.readings_of(row.stage))) for row in rows]
    stages = tuple(
        _stage(row, record.readings_of(row.stage), now)
        for row, now in zip(rows, of_stage, strict=True)
    )
    owed: list[OwedWork] = [work for work in run.owed if not work.stage]
    lacking = _owed_by_profile(record) if run.verdict is RunVerdict.PASS else ()
    for stage, now in zip(stages, of_stage, strict=True):
        owed.extend(owed_of_stage(stage, now))
    added = closing.added()
    if added is not None:
        stages = (*stages, added)
        owed.extend(owed_of_stage(added, closing.added_readings()))
    verdict, reason = run.verdict, run.reason
    if run.verdict is not RunVerdict.INCOMPLETE:
        seen = seen_on(record, readings, observed)
        owed += owed_to_decide(stages, readings, seen)
        verdict, reason = run_verdict(
            stages, (*owed, *lacking), run.ended, _end_reason(run.reason), readings, seen
        )
    changed = tuple((was, now) for was, now in pairs if was.verdict is not now.verdict)
    disagreements = [
        *record.condition.disagrees,
        *(_reading_disagrees(r, reading_anew(r, traffic)) for r in record.all_readings),
        *closing.disagreements(record.readings),
        *(_stage_disagrees(row, now) for row, now in zip(rows, of_stage, strict=True)),
        _run_disagrees(record, verdict),
    ]
    if lacking:
        disagreements.append(Disagreement.OWED_BY_PROFILE(owed_count=len(lacking)))
    told = tuple(one for one in disagreements if one is not None)
    return JudgedAnew(verdict, reason, stages, readings, changed, told, _unsound(record))


def _unsound(record: Record) -> tuple[Reason, ...]:
    """Flaws that leave no row to be trusted; a torn last line is none of them."""
    condition = record.condition
    found = (
        *condition.edited,
        *condition.disagrees,
        *condition.foreign,
        *condition.damaged,
        *condition.missing,
    )
    return found if condition.chained or found else (RecordReason.NO_CHAIN(),)


def _owed_by_profile(record: Record) -> tuple[OwedWork, ...]:
    """What the record's own profile says that no run can prove, and the record does not name."""
    kept = record.run.profile
    try:
        loaded = profile_of_text(kept.name, kept.file, kept.text)
    except ProfileError:
        return ()  # of another version of this tool; its SHA-256 is looked at elsewhere
    named = {work.what for work in record.run.owed}
    owed = (entry.as_owed() for entry in loaded.profile.owed)
    return tuple(work for work in owed if work.what not in named)


def _reading_disagrees(reading: Reading, anew: Reading) -> Reason | None:
    """That a reading's verdict is another than follows from its value."""
    if anew.verdict is reading.verdict:
        return None
    return Disagreement.READING(
        stage=reading.stage,
        reading=reading.name,
        told=reading.verdict or _NOT_JUDGED,
        follows=anew.verdict or _NOT_JUDGED,
    )


def _stage_disagrees(row: StageRow, now: tuple[Reading, ...]) -> Reason | None:
    """That a stage's verdict does not follow from its readings.

    What a guard, a person or an error ended says less than its readings, and that stays so; so does
    a failure with a reason that no reading gives (the card was lost).
    """
    if row.verdict not in _AT_ITS_END:
        return None
    follows, _ = stage_verdict(now)
    beside = [reason for reason in row.reasons if all(r.reason != reason for r in now)]
    if follows is row.verdict or (row.verdict is StageVerdict.FAIL and beside):
        return None
    return Disagreement.STAGE(stage=row.stage, told=row.verdict, follows=follows)


def _run_disagrees(record: Record, follows: RunVerdict) -> Reason | None:
    """That a run says better of itself than follows, or worse without a reason.

    A verdict below a pass may stand on what other parties could have caused (law 15), which is not
    judged here.
    """
    told = record.run.verdict
    better = told is RunVerdict.PASS or (follows is RunVerdict.PASS and told is RunVerdict.FAIL)
    if told is follows or not better:
        return None
    return Disagreement.RUN(told=told, follows=follows)


def _stage(row: StageRow, was: tuple[Reading, ...], now: tuple[Reading, ...]) -> StageOutcome:
    recorded = row.outcome()
    if row.verdict not in _AT_ITS_END:
        return recorded
    verdict, reasons = stage_verdict(now)
    claims_a_pass = row.verdict is StageVerdict.PASS and verdict is not StageVerdict.PASS
    hides_a_fail = row.verdict is not StageVerdict.FAIL and verdict is StageVerdict.FAIL
    if was == now and not claims_a_pass and not hides_a_fail:
        return recorded  # what held it back, or failed it, need not be a reading
    return replace(recorded, verdict=verdict, reasons=reasons)


def _end_reason(reason: Reason) -> Reason:
    """Why the run ended early, out of the reason of its verdict."""
    ended = (VerdictReason.LOAD_ENDED, VerdictReason.LOAD_ENDED_AFTER_FAILURES)
    inner = reason["reason"] if reason.means(*ended) else reason
    return Reason(inner.code, inner.data) if isinstance(inner, Meaning) else reason
