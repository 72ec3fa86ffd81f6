"""A record's readings, stages and run judged anew from what was measured, by today's rules.

The guards judge samples anew (`records.py`); here values meet their limits once more, so that a
record of an older version, or one that somebody doubts, shows whether its verdict still follows.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from burnin.core.meaning import Meaning, Reason
from burnin.core.reading import Limit, Reading, ReadingReason, Verdict, judge, judge_text
from burnin.core.verdict import (
    OwedWork,
    RunVerdict,
    StageOutcome,
    StageVerdict,
    VerdictReason,
    owed_of_stage,
    run_verdict,
    stage_verdict,
)
from burnin.record.reader import Record
from burnin.record.schema import StageRow

_AT_ITS_END = (StageVerdict.PASS, StageVerdict.FAIL, StageVerdict.CONDITIONAL)


@dataclass(frozen=True)
class JudgedAnew:
    """What follows today from a record's values, beside what the record says.

    `changed` holds each reading whose verdict is another now: as recorded, and as judged anew.
    """

    verdict: RunVerdict
    reason: Reason
    stages: tuple[StageOutcome, ...]
    readings: tuple[Reading, ...]
    changed: tuple[tuple[Reading, Reading], ...]

    @property
    def as_recorded(self) -> bool:
        """Whether every reading is judged as it was."""
        return not self.changed


def judge_anew(record: Record) -> JudgedAnew:
    """Judge every reading of a record anew, and from them its stages and its run.

    What a guard, a person or an error ended stays ended; what a stage held back on grounds of its
    own, and what was not measured, stays so.
    """
    pairs = tuple((reading, reading_anew(reading)) for reading in record.readings)
    readings = tuple(anew for _, anew in pairs)
    stages = tuple(_stage(row, _of(row, record.readings), _of(row, readings))
                   for row in record.run.stages)  # fmt: skip
    owed: list[OwedWork] = [work for work in record.run.owed if not work.stage]
    for stage, row in zip(stages, record.run.stages, strict=True):
        owed.extend(owed_of_stage(stage, _of(row, readings)))
    run = record.run
    verdict, reason = run.verdict, run.reason
    if run.verdict is not RunVerdict.INCOMPLETE:
        verdict, reason = run_verdict(stages, owed, run.ended, _end_reason(run.reason))
    changed = tuple((was, now) for was, now in pairs if was.verdict is not now.verdict)
    return JudgedAnew(verdict, reason, stages, readings, changed)


def reading_anew(reading: Reading) -> Reading:
    """One reading against its limit once more; kept where no comparison made its verdict."""
    if reading.verdict in (None, Verdict.NOT_MEASURED) or reading.value is None:
        return reading
    anew = _compared(reading)
    if anew is None or anew.verdict is reading.verdict or _held_back(reading):
        return reading
    return replace(anew, stage=reading.stage)


def _compared(reading: Reading) -> Reading | None:
    if isinstance(reading.value, str):
        if not reading.allowed:
            return None
        return judge_text(
            reading.name,
            reading.value,
            reading.allowed,
            source=reading.source,
            required=reading.required,
        )
    limit: Limit | None = reading.limit
    if limit is None or reading.value is None:
        return None
    return judge(
        reading.name,
        reading.value,
        reading.unit,
        limit,
        uncertainty=reading.uncertainty,
        source=reading.source,
        required=reading.required,
    )


def _held_back(reading: Reading) -> bool:
    """Whether the stage itself found the value unsure, and not its uncertainty."""
    by_comparison = reading.reason is not None and reading.reason.means(
        ReadingReason.LIMIT_INSIDE_UNCERTAINTY
    )
    return reading.verdict is Verdict.UNSURE and not by_comparison


def _of(row: StageRow, readings: tuple[Reading, ...]) -> tuple[Reading, ...]:
    return tuple(reading for reading in readings if reading.stage == row.stage)


def _stage(row: StageRow, was: tuple[Reading, ...], now: tuple[Reading, ...]) -> StageOutcome:
    recorded = row.outcome()
    if row.verdict not in _AT_ITS_END or was == now:
        return recorded
    verdict, reasons = stage_verdict(now)
    return replace(recorded, verdict=verdict, reasons=reasons)


def _end_reason(reason: Reason) -> Reason:
    """Why the run ended early, out of the reason of its verdict."""
    ended = (VerdictReason.LOAD_ENDED, VerdictReason.LOAD_ENDED_AFTER_FAILURES)
    inner = reason["reason"] if reason.means(*ended) else reason
    return Reason(inner.code, inner.data) if isinstance(inner, Meaning) else reason
