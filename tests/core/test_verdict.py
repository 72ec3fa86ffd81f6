"""A run passes only if every stage of it has passed and nothing is owed."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from burnin.core.meaning import Reason, Term
from burnin.core.reading import Limit, NotMeasured, Reading, ReadingReason, judge
from burnin.core.verdict import (
    EXIT_CODES,
    Ended,
    OwedWhat,
    OwedWork,
    RunVerdict,
    StageOutcome,
    StageVerdict,
    VerdictReason,
    by_reason,
    owed_of_stage,
    run_verdict,
    stage_title,
    stage_verdict,
)

WHY = ReadingReason.NOT_READ()

GOOD = judge("a", 1.0, "", Limit(upper=2.0))
BAD = judge("b", 3.0, "", Limit(upper=2.0))
UNSURE = judge("c", 2.0, "", Limit(upper=2.0), uncertainty=0.5)
MISSING = judge("d", NotMeasured(WHY), "", Limit(upper=2.0))
SPARE = judge("e", NotMeasured(WHY), "", None, required=False)
NOTED = judge("f", 1.0, "", None)

readings = st.lists(st.sampled_from([GOOD, BAD, UNSURE, MISSING, SPARE, NOTED]), max_size=6)


@given(readings)
def test_a_stage_passes_only_on_passed_readings(taken: list[Reading]) -> None:
    verdict, reasons = stage_verdict(taken)
    clean = GOOD in taken and not {BAD, UNSURE, MISSING} & set(taken)
    assert (verdict is StageVerdict.PASS) == clean
    assert (verdict is StageVerdict.FAIL) == (BAD in taken)
    assert bool(reasons) == (verdict is not StageVerdict.PASS)


def outcome(verdict: StageVerdict, reason: Reason = WHY) -> StageOutcome:
    reasons = () if verdict is StageVerdict.PASS else (reason,)
    return StageOutcome("1-memory", "memory", "", verdict, reasons)


verdicts = st.lists(st.sampled_from(list(StageVerdict)), max_size=6)


@given(verdicts, st.booleans(), st.sampled_from(list(Ended)))
def test_a_run_passes_only_when_all_is_done_and_passed(
    stages: list[StageVerdict], something_owed: bool, ended: Ended
) -> None:
    owed = [OwedWork("", OwedWhat.WHOLE_RUN(), WHY)] if something_owed else []
    verdict, reason = run_verdict([outcome(v) for v in stages], owed, ended, WHY)
    clean = bool(stages) and set(stages) == {StageVerdict.PASS} and not owed
    early = ended in (Ended.STOPPED_BY_HAND, Ended.TRIPPED)
    assert (verdict is RunVerdict.PASS) == (clean and not early)
    assert verdict in EXIT_CODES
    assert reason.means(VerdictReason.ALL_STAGES_PASSED) == (verdict is RunVerdict.PASS)


def test_a_failure_is_never_outweighed_by_what_is_owed() -> None:
    failed = outcome(StageVerdict.FAIL)
    verdict, reason = run_verdict(
        [outcome(StageVerdict.PASS), failed], [OwedWork("", OwedWhat.WHOLE_RUN(), WHY)],
        Ended.DONE, None,
    )
    assert verdict is RunVerdict.FAIL
    assert reason == VerdictReason.STAGES_FAILED(
        stages=(VerdictReason.STAGE_BECAUSE(stage=Term("stage_memory"), reasons=(WHY,)),)
    )


def test_open_readings_are_owed_by_name() -> None:
    owed = owed_of_stage(outcome(StageVerdict.CONDITIONAL), [GOOD, MISSING, SPARE])
    memory = stage_title("memory", "")
    assert owed == [OwedWork("1-memory", OwedWhat.READING(stage=memory, reading="d"), WHY)]


def test_a_stage_not_carried_out_is_owed_as_a_whole() -> None:
    owed = owed_of_stage(outcome(StageVerdict.NOT_MEASURED), [])
    assert [(o.what, o.reason) for o in owed] == [
        (OwedWhat.STAGE(stage=Term("stage_memory")), WHY)
    ]


def test_owed_work_is_grouped_by_its_reason() -> None:
    a, b = OwedWhat.STAGE(stage="Soak"), OwedWhat.WHOLE_RUN()
    owed = [OwedWork("1", a, WHY), OwedWork("2", b, WHY), OwedWork("3", a, WHY)]
    assert by_reason(owed) == {WHY: [a, b]}
