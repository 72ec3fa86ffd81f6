"""The large word: what the record says, unless the record does not bear it out.

The record's own verdict stands, with one exception: PASS is printed only over a record that holds
nothing against it. A verdict can thus only be lowered here, never raised.
"""

from __future__ import annotations

from collections.abc import Sequence

from burnin.core.meaning import Meaning, Reason, Term
from burnin.core.reading import Verdict
from burnin.core.verdict import Ended, RunVerdict, StageVerdict, stage_title
from burnin.record.reader import Record
from burnin.replay.verdicts import judge_anew
from burnin.report.sheet.meanings import Banner, Objection, SheetReason
from burnin.report.sheet.run_stages import RunStage


def printed_verdict(record: Record, stages: Sequence[RunStage]) -> tuple[RunVerdict, Meaning]:
    """Verdict and reason as a sheet prints them."""
    run = record.run
    verdict, reason = run.verdict, run.reason
    doubts = unsound(record)
    if verdict is RunVerdict.CONDITIONAL and doubts:
        told = SheetReason.SAYS_MORE_THAN_FOLLOWS(told=verdict, against=doubts)
        return RunVerdict.INCOMPLETE, told
    if verdict is RunVerdict.PASS:
        against = objections(record, stages)
        if against:
            return RunVerdict.INCOMPLETE, SheetReason.SAYS_PASS_BUT(against=against)
    if verdict is RunVerdict.INCOMPLETE and not _was_closed(record):
        by_hand = run.ended is Ended.STOPPED_BY_HAND
        return verdict, (SheetReason.STOPPED_BY_HAND if by_hand else SheetReason.NEVER_CLOSED)()
    return verdict, reason or SheetReason.NONE_GIVEN()


def objections(record: Record, stages: Sequence[RunStage]) -> tuple[Reason, ...]:
    """What in a record speaks against printing PASS."""
    condition = record.condition
    found = [*unsound(record)]
    if not record.run.engine.works_card or record.run.card_absent is not None:
        found.append(Objection.NO_CARD())
    if condition.cut_short:
        found.append(Objection.DAMAGED(flaws=(*condition.missing, *condition.torn)))
    if not any(reading.verdict is Verdict.PASS for reading in record.readings):
        found.append(Objection.NO_PASS())
    bad = [r for r in record.readings if r.required and r.verdict not in (Verdict.PASS, None)]
    if bad:
        found.append(Objection.NOT_PASSED(readings_count=len(bad)))
    undone = [s for s in stages if s.verdict is not StageVerdict.PASS]
    if undone:
        titles = tuple(stage_title(s.kind, s.own_title) for s in undone)
        found.append(Objection.STAGES_NOT_PASSED(stages=titles))
    if record.run.owed:
        found.append(Objection.OWED())
    if any(entry.event == "GuardTripped" for entry in record.journal[record.last_start :]):
        found.append(Objection.GUARD_ENDED_LOAD())
    if record.failing_words:
        found.append(Objection.MEMORY_WRONG())
    return tuple(found)


def unsound(record: Record) -> tuple[Reason, ...]:
    """Why no verdict that a record gives may be believed: it was edited, or contradicts itself."""
    condition, found = record.condition, []
    if condition.edited:
        files = dict.fromkeys(flaw["file"] for flaw in condition.edited)
        found.append(Objection.ALTERED(files=tuple(files)))
    if condition.disagrees or condition.foreign:
        flaws = (*condition.disagrees, *condition.foreign)
        found.append(Objection.DISAGREES(flaws=flaws))
    elif condition.chained:  # an older record's word was that of older rules
        disagrees = judge_anew(record).disagreements
        found.extend((Objection.DISAGREES(flaws=disagrees),) if disagrees else ())
    return tuple(found)


def banners(record: Record) -> tuple[Term, ...]:
    """What must stand over everything: whatever is not a real card at work."""
    run = record.run
    found = []
    if run.is_simulated:
        found.append(Banner.SIMULATED())
    if not run.engine.works_card:
        found.append(Banner.SOFTWARE_ENGINE())
    return tuple(found)


def _was_closed(record: Record) -> bool:
    return bool(record.run.ended_utc)
