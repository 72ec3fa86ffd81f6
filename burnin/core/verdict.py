"""From readings to the verdict of a stage, and from stages to that of a run: the one place for it.

A verdict starts as incomplete; only readings that passed make a pass (law 1).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from burnin.core.blame import Blame, blame, blames_of_ends, blames_told, named_when_open
from burnin.core.evidence.seen import Seen
from burnin.core.meaning import Meaning, Owed, OwedCode, Reason, ReasonCode, Term, Value, distinct
from burnin.core.reading import Reading, Verdict


class StageVerdict(StrEnum):
    """How a stage ended."""

    PASS = "pass"
    FAIL = "fail"
    ABORTED = "aborted"
    CONDITIONAL = "conditional"
    NOT_MEASURED = "not measured"
    INCOMPLETE = "incomplete"


class RunVerdict(StrEnum):
    """What a run says of the card."""

    PASS = "pass"
    FAIL = "fail"
    ABORTED = "aborted"
    CONDITIONAL = "conditional"
    INCOMPLETE = "incomplete"


class Ended(StrEnum):
    """How a run came to its end."""

    NOT_YET = ""
    DONE = "done"
    FAILED = "failed"
    STOPPED_BY_HAND = "stopped by hand"
    TRIPPED = "tripped"


class VerdictReason(ReasonCode):
    """Why a stage or a run has its verdict.

    `reading` is a reading's name, `stage` a stage's title (`stage_title`), `reasons`, `stages` and
    `owed` are tuples of reasons; `blames` are `burnin.core.parties.PartyReason`.
    """

    READING_OPEN = "reading_open", "reading", "reason"
    NOTHING_JUDGED = "nothing_judged"
    STAGE_BECAUSE = "stage_because", "stage", "reasons"
    ALL_STAGES_PASSED = "all_stages_passed", "stages_count"
    STAGES_FAILED = "stages_failed", "stages"
    NOT_THE_CARD_ALONE = "not_the_card_alone", "blames", "stages"
    LOAD_ENDED = "load_ended", "reason"
    LOAD_ENDED_AFTER_FAILURES = "load_ended_after_failures", "reason", "stages"
    OWED_BECAUSE = "owed_because", "what", "reason"
    STILL_OWED = "still_owed", "owed"
    NOT_AT_ITS_END = "not_at_its_end"


class OwedWhat(OwedCode):
    """What of a run may be owed: a whole stage, one reading of it, or all of it."""

    STAGE = "owed_stage", "stage"
    READING = "owed_reading", "stage", "reading"
    WHOLE_RUN = "owed_whole_run"


WHOLE_RUN = "whole_run"
"""Name and kind of the closing part of a run: what its stages have shown, watched to its end."""


def shown(verdict: RunVerdict, *, simulated: bool) -> str:
    """The word that a run is shown to end in: that of a simulated one is its own, never a card's.

    >>> shown(RunVerdict.PASS, simulated=False), shown(RunVerdict.PASS, simulated=True)
    ('pass', 'simulated pass')
    """
    return f"simulated {verdict}" if simulated else verdict.value


EXIT_CODES = {
    RunVerdict.PASS: 0,
    RunVerdict.FAIL: 1,
    RunVerdict.ABORTED: 3,
    RunVerdict.CONDITIONAL: 4,
}
"""Exit code of `burnin run` by the run's verdict; 2 is wrong use or bad input."""


@dataclass(frozen=True)
class StageOutcome:
    """How a stage ended, and why; `own_title` is the profile's title for it, mostly empty."""

    stage: str
    kind: str
    own_title: str
    verdict: StageVerdict
    reasons: tuple[Reason, ...] = ()


@dataclass(frozen=True)
class OwedWork:
    """What could not be done now, and why; somebody must still do it. `stage` may be empty."""

    stage: str
    what: Owed
    reason: Reason


def stage_title(kind: str, own_title: str) -> Value:
    """A stage's title as the datum of a meaning: the profile's own, else the name of its kind."""
    return own_title or Term(f"stage_{kind}")


def stage_verdict(readings: Sequence[Reading]) -> tuple[StageVerdict, tuple[Reason, ...]]:
    """Verdict and reasons of a stage that came to its end, from all its readings."""
    failed = [r for r in readings if r.verdict is Verdict.FAIL]
    if failed:
        return StageVerdict.FAIL, distinct([r.reason for r in failed if r.reason])
    open_ones = [
        r
        for r in readings
        if r.verdict is Verdict.UNSURE or (r.verdict is Verdict.NOT_MEASURED and r.required)
    ]
    passed = any(r.verdict is Verdict.PASS for r in readings)
    if open_ones:
        reasons = distinct(
            [VerdictReason.READING_OPEN(reading=r.name, reason=r.reason) for r in open_ones]
        )
        return (StageVerdict.CONDITIONAL if passed else StageVerdict.NOT_MEASURED), reasons
    if passed:
        return StageVerdict.PASS, ()
    return StageVerdict.NOT_MEASURED, (VerdictReason.NOTHING_JUDGED(),)


def owed_of_stage(outcome: StageOutcome, readings: Sequence[Reading]) -> list[OwedWork]:
    """What a stage leaves to be done: itself, or its readings that are open."""
    title = stage_title(outcome.kind, outcome.own_title)
    nothing = outcome.verdict in (StageVerdict.NOT_MEASURED, StageVerdict.ABORTED)
    if nothing and not any(r.verdict in (Verdict.PASS, Verdict.FAIL) for r in readings):
        what = OwedWhat.STAGE(stage=title)
        return [OwedWork(outcome.stage, what, reason) for reason in outcome.reasons]
    return [
        OwedWork(outcome.stage, OwedWhat.READING(stage=title, reading=r.name), r.reason)
        for r in readings
        if r.required and r.reason and r.verdict in (Verdict.NOT_MEASURED, Verdict.UNSURE)
    ]


def by_reason(owed: Sequence[OwedWork]) -> dict[Reason, list[Owed]]:
    """What is owed, grouped by its reason, both in their first order."""
    grouped: dict[Reason, list[Owed]] = {}
    for work in owed:
        what = grouped.setdefault(work.reason, [])
        if work.what not in what:
            what.append(work.what)
    return grouped


def blames_of(
    outcomes: Sequence[StageOutcome], readings: Sequence[Reading], seen: Seen
) -> list[Blame] | None:
    """Who is left for each failed reading; None where a failure is the card's alone (law 15).

    A stage that failed by no reading of its own is the card's.
    """
    found: list[Blame] = []
    for outcome in outcomes:
        if outcome.verdict is not StageVerdict.FAIL:
            continue
        failed = [
            r for r in readings if r.stage == outcome.stage and r.verdict is Verdict.FAIL
        ]
        blames = [blame(r, seen, readings) for r in failed]
        if not blames or any(one.card_alone for one in blames):
            return None
        found.extend(blames)
    return found


def owed_to_decide(
    outcomes: Sequence[StageOutcome], readings: Sequence[Reading], seen: Seen
) -> list[OwedWork]:
    """The steps that tell the card from the others, where no failure is the card's alone."""
    titles = {o.stage: stage_title(o.kind, o.own_title) for o in outcomes}
    named = blames_of(outcomes, readings, seen)
    if named is None:
        return []
    told = [blame(r, seen, readings) for r in readings if r.stage in titles and named_when_open(r)]
    named += [one for one in told if not one.card_alone]
    owed: list[OwedWork] = []
    not_at_end = (StageVerdict.ABORTED, StageVerdict.NOT_MEASURED)
    stopped = [(o.stage, o.reasons) for o in outcomes if o.verdict in not_at_end]
    for one in (*named, *blames_of_ends(stopped, readings, seen)):
        title = titles[one.reading.stage]
        what = OwedWhat.READING(stage=title, reading=one.reading.name)
        if one.reading not in readings:
            what = OwedWhat.STAGE(stage=title)
        owed.append(OwedWork(one.reading.stage, what, one.to_decide()))
    return owed


def run_verdict(
    outcomes: Sequence[StageOutcome],
    owed: Sequence[OwedWork],
    ended: Ended,
    end_reason: Reason | None,
    readings: Sequence[Reading] = (),
    seen: Seen | None = None,
) -> tuple[RunVerdict, Reason]:
    """Verdict of a run and its reason; `end_reason` says why it ended early.

    With `seen` a run fails only where for some failed reading the card alone is left.
    """
    failed = _because([o for o in outcomes if o.verdict is StageVerdict.FAIL])
    if ended is Ended.TRIPPED:
        if failed:
            reason = VerdictReason.LOAD_ENDED_AFTER_FAILURES(reason=end_reason, stages=failed)
            return RunVerdict.ABORTED, reason
        return RunVerdict.ABORTED, VerdictReason.LOAD_ENDED(reason=end_reason)
    if failed:
        blames = None if seen is None else blames_of(outcomes, readings, seen)
        if blames is None:
            return RunVerdict.FAIL, VerdictReason.STAGES_FAILED(stages=failed)
        reason = VerdictReason.NOT_THE_CARD_ALONE(blames=blames_told(blames), stages=failed)
        return RunVerdict.CONDITIONAL, reason
    if ended is Ended.STOPPED_BY_HAND and end_reason is not None:
        return RunVerdict.CONDITIONAL, end_reason
    short = [o for o in outcomes if o.verdict is not StageVerdict.PASS]
    if owed or not outcomes or short:
        told: tuple[Value, ...] = tuple(
            VerdictReason.OWED_BECAUSE(what=tuple(what), reason=reason)
            for reason, what in by_reason(owed).items()
        )
        return RunVerdict.CONDITIONAL, VerdictReason.STILL_OWED(owed=told or _because(short))
    stages_count = sum(outcome.kind != WHOLE_RUN for outcome in outcomes)
    return RunVerdict.PASS, VerdictReason.ALL_STAGES_PASSED(stages_count=stages_count)


def _because(outcomes: Sequence[StageOutcome]) -> tuple[Value, ...]:
    """The outcomes' reasons, each under its stage."""
    found: list[Meaning] = [
        VerdictReason.STAGE_BECAUSE(stage=stage_title(o.kind, o.own_title), reasons=o.reasons)
        for o in outcomes
    ]
    return tuple(found)
