"""A record's stages and run judged anew: what it claims is told beside what follows."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from burnin.core.events import Event
from burnin.core.meaning import Reason
from burnin.core.reading import Reading, Verdict, of_stage
from burnin.core.verdict import (
    Ended,
    OwedWhat,
    OwedWork,
    RunVerdict,
    StageOutcome,
    StageVerdict,
    VerdictReason,
    stage_title,
)
from burnin.profile.meanings import ProfileOwed, ProfileReason
from burnin.record.reader import read_record
from burnin.record.reasons import RecordReason
from burnin.replay.reasons import Disagreement
from burnin.replay.verdicts import JudgedAnew, judge_anew
from burnin.run.reasons import RunReason
from tests.record.streams import WhyReason
from tests.replay.told_runs import (
    PROFILE,
    Told,
    bad,
    end,
    good,
    opened_profile,
    record_of,
    start,
    unread,
    word,
)

WHY_BAD = tuple(reason for reason in [bad().reason] if reason is not None)
NO_LAMP = WhyReason.NO_LAMP()
CARD_GONE = RunReason.CARD_GONE()
OWING = f"""{PROFILE}
[[owed]]
work = "soak_with_loop"
because = "no_loop_on_bench"
"""
FIRST, SECOND, THIRD = "1-enumeration", "2-display", "3-compute"


def passed(*readings: Reading, stage: str = FIRST) -> Told:
    return Told(stage, stage.partition("-")[2], StageVerdict.PASS, readings or (good(),))


def judged(folder: Path, *parts: Event | Told) -> JudgedAnew:
    return judge_anew(record_of(folder, start(), *parts))


def test_a_sound_record_says_what_follows(tmp_path: Path) -> None:
    failed = Told(SECOND, "display", StageVerdict.FAIL, (bad(), good("screens")), WHY_BAD,
                  "Screens again")  # fmt: skip
    reason = VerdictReason.STAGES_FAILED(
        stages=(VerdictReason.STAGE_BECAUSE(stage="Screens again", reasons=failed.reasons),)
    )
    found = judged(tmp_path, passed(), failed, end(RunVerdict.FAIL, reason))
    assert (found.verdict, found.reason) == (RunVerdict.FAIL, reason)
    assert found.stages == (
        StageOutcome(FIRST, "enumeration", "", StageVerdict.PASS),
        StageOutcome(SECOND, "display", "Screens again", StageVerdict.FAIL, failed.reasons),
    )
    assert [(r.stage, r.name) for r in found.readings] == [
        (FIRST, "lamps"), (SECOND, "lamps"), (SECOND, "screens"),
    ]  # fmt: skip
    assert found.as_recorded
    assert (found.disagreements, found.unsound) == ((), ())
    assert found.holds(FIRST)
    assert found.holds(SECOND)


def test_a_reading_that_claims_a_pass_costs_its_stage_and_the_run_theirs(tmp_path: Path) -> None:
    claimed = replace(bad(), verdict=Verdict.PASS, reason=None)
    found = judged(
        tmp_path, passed(), passed(claimed, good("screens"), stage=SECOND), end(RunVerdict.PASS)
    )
    follows = of_stage(bad(), SECOND)
    assert found.verdict is RunVerdict.FAIL
    assert found.changed == ((of_stage(claimed, SECOND), follows),)
    assert not found.as_recorded
    assert found.stages[1] == StageOutcome(
        SECOND, "display", "", StageVerdict.FAIL, WHY_BAD
    )
    of_reading = Disagreement.READING(
        stage=SECOND, reading="lamps", told=Verdict.PASS, follows=Verdict.FAIL
    )
    of_the_stage = Disagreement.STAGE(
        stage=SECOND, told=StageVerdict.PASS, follows=StageVerdict.FAIL
    )
    of_run = Disagreement.RUN(told=RunVerdict.PASS, follows=RunVerdict.FAIL)
    assert found.disagreements == (of_reading, of_the_stage, of_run)
    assert found.why_not_taken_over(SECOND) == of_reading
    assert not found.holds(SECOND)
    assert found.holds(FIRST)
    assert found.why_not_taken_over(FIRST) is None


@pytest.mark.parametrize("told", [StageVerdict.PASS, StageVerdict.CONDITIONAL])
def test_a_stage_that_hides_its_failed_reading_fails(told: StageVerdict, tmp_path: Path) -> None:
    """Every reading is judged as it was; the stage alone says better of itself."""
    found = judged(
        tmp_path, Told(FIRST, "enumeration", told, (bad(),)), end(RunVerdict.PASS)
    )
    assert found.as_recorded
    assert found.stages[0].verdict is StageVerdict.FAIL
    assert found.verdict is RunVerdict.FAIL
    assert found.disagreements == (
        Disagreement.STAGE(stage=FIRST, told=told, follows=StageVerdict.FAIL),
        Disagreement.RUN(told=RunVerdict.PASS, follows=RunVerdict.FAIL),
    )


def test_a_stage_that_claims_a_pass_over_an_open_reading_is_conditional(tmp_path: Path) -> None:
    found = judged(tmp_path, passed(good(), unread()), end(RunVerdict.PASS))
    assert [stage.verdict for stage in found.stages] == [StageVerdict.CONDITIONAL]
    assert found.verdict is RunVerdict.CONDITIONAL
    owed = VerdictReason.OWED_BECAUSE(
        what=(OwedWhat.READING(stage=stage_title("enumeration", ""), reading="screens"),),
        reason=NO_LAMP,
    )
    assert found.reason == VerdictReason.STILL_OWED(owed=(owed,))


def test_a_stage_may_say_less_than_its_readings(tmp_path: Path) -> None:
    """The card was lost, a guard ended it, or it held itself back: no reading says so."""
    lost = Told(FIRST, "enumeration", StageVerdict.FAIL, (good(),), (CARD_GONE,))
    ended = Told(SECOND, "display", StageVerdict.ABORTED, (good(),), (NO_LAMP,))
    left = Told(THIRD, "compute", StageVerdict.NOT_MEASURED, (good(),), (NO_LAMP,))
    found = judged(tmp_path, lost, ended, left, end(RunVerdict.FAIL))
    assert [stage.verdict for stage in found.stages] == [
        StageVerdict.FAIL, StageVerdict.ABORTED, StageVerdict.NOT_MEASURED,
    ]  # fmt: skip
    assert found.stages[0].reasons == (CARD_GONE,)
    assert found.disagreements == ()
    assert found.verdict is RunVerdict.FAIL


def test_a_failure_that_nothing_explains_is_told(tmp_path: Path) -> None:
    """It stays: nothing that is judged anew makes a stage better than the run found it."""
    for reasons in ((), (NO_LAMP,)):
        open_reading = unread() if reasons else good()
        told = Told(FIRST, "enumeration", StageVerdict.FAIL, (good("x"), open_reading), reasons)
        found = judged(tmp_path / str(len(reasons)), told, end(RunVerdict.FAIL))
        follows = StageVerdict.CONDITIONAL if reasons else StageVerdict.PASS
        assert found.stages[0].verdict is StageVerdict.FAIL
        assert found.disagreements == (
            Disagreement.STAGE(stage=FIRST, told=StageVerdict.FAIL, follows=follows),
        )


def test_a_reading_that_was_failed_without_ground_gives_its_stage_back(tmp_path: Path) -> None:
    wronged = replace(good(), verdict=Verdict.FAIL, reason=NO_LAMP)
    told = Told(FIRST, "enumeration", StageVerdict.FAIL, (wronged,), (NO_LAMP,))
    found = judged(tmp_path, told, end(RunVerdict.FAIL, NO_LAMP))
    assert found.stages == (StageOutcome(FIRST, "enumeration", "", StageVerdict.PASS),)
    assert found.verdict is RunVerdict.PASS
    assert Disagreement.RUN(told=RunVerdict.FAIL, follows=RunVerdict.PASS) in found.disagreements


def test_words_are_judged_like_numbers(tmp_path: Path) -> None:
    claimed = replace(word("name", "wrong"), verdict=Verdict.PASS, reason=None)
    found = judged(tmp_path, passed(claimed), end(RunVerdict.PASS))
    assert [now.reason for _, now in found.changed] == [word("name", "wrong").reason]


def test_a_reading_that_nothing_judged_disagrees_with_a_verdict_it_never_had(
    tmp_path: Path,
) -> None:
    unjudged = replace(bad(), verdict=None, reason=None)
    found = judged(tmp_path, passed(good("x"), unjudged), end(RunVerdict.PASS))
    [told] = [one for one in found.disagreements if one.means(Disagreement.READING)]
    assert (told["told"], told["follows"]) == ("not judged", Verdict.FAIL)


# ---- the run


@pytest.mark.parametrize(
    ("told", "readings", "disagrees"),
    [
        (RunVerdict.PASS, (good(),), False),
        (RunVerdict.FAIL, (good(),), True),
        (RunVerdict.CONDITIONAL, (good(),), False),  # other parties may stand behind it
        (RunVerdict.PASS, (good(), unread()), True),
        (RunVerdict.FAIL, (good(), unread()), False),
        (RunVerdict.CONDITIONAL, (good(), unread()), False),
        (RunVerdict.CONDITIONAL, (bad(),), False),
    ],
)
def test_a_run_must_follow_where_it_says_pass_or_where_a_pass_follows(
    told: RunVerdict, readings: tuple[Reading, ...], disagrees: bool, tmp_path: Path
) -> None:
    verdict = StageVerdict.PASS
    if any(r.verdict is not Verdict.PASS for r in readings):
        failed = any(r.verdict is Verdict.FAIL for r in readings)
        verdict = StageVerdict.FAIL if failed else StageVerdict.CONDITIONAL
    found = judged(tmp_path, Told(FIRST, "enumeration", verdict, readings), end(told, NO_LAMP))
    of_run = [one for one in found.disagreements if one.means(Disagreement.RUN)]
    assert bool(of_run) == disagrees
    if disagrees:
        assert of_run == [Disagreement.RUN(told=told, follows=found.verdict)]
    assert found.verdict is not told or not disagrees


def test_a_run_that_a_guard_ended_keeps_the_reason_of_its_end(tmp_path: Path) -> None:
    why = WhyReason.TOO_DIM(light_lx=2.5, parts=("a", NO_LAMP))
    cut = Told(FIRST, "enumeration", StageVerdict.ABORTED, (good(),), (why,))
    told = VerdictReason.LOAD_ENDED(reason=why)
    found = judged(tmp_path / "1", cut, end(RunVerdict.ABORTED, told, Ended.TRIPPED))
    assert (found.verdict, found.reason) == (RunVerdict.ABORTED, told)
    failed = Told(SECOND, "display", StageVerdict.FAIL, (bad(),), WHY_BAD)
    after = VerdictReason.LOAD_ENDED_AFTER_FAILURES(
        reason=why,
        stages=(
            VerdictReason.STAGE_BECAUSE(
                stage=stage_title("display", ""), reasons=failed.reasons
            ),
        ),
    )
    found = judged(tmp_path / "2", failed, cut, end(RunVerdict.ABORTED, after, Ended.TRIPPED))
    assert (found.verdict, found.reason) == (RunVerdict.ABORTED, after)
    assert found.disagreements == ()


def test_a_run_that_was_stopped_by_hand_keeps_its_reason(tmp_path: Path) -> None:
    why = RunReason.NOT_REACHED(reason=NO_LAMP)
    found = judged(
        tmp_path, passed(), end(RunVerdict.CONDITIONAL, why, Ended.STOPPED_BY_HAND)
    )
    assert (found.verdict, found.reason) == (RunVerdict.CONDITIONAL, why)


def test_an_end_whose_reason_is_no_reason_is_told_as_it_stands(tmp_path: Path) -> None:
    """Somebody edited the record: nothing is made up in its place."""
    odd = VerdictReason.LOAD_ENDED(reason="somebody")
    found = judged(tmp_path, passed(), end(RunVerdict.ABORTED, odd, Ended.TRIPPED))
    assert found.reason == VerdictReason.LOAD_ENDED(reason=odd)


def test_a_run_that_is_not_at_its_end_stays_so(tmp_path: Path) -> None:
    found = judged(tmp_path, passed(), Told(SECOND, "display", None, (bad(),)))
    assert found.verdict is RunVerdict.INCOMPLETE
    assert found.reason == VerdictReason.NOT_AT_ITS_END()
    assert [stage.verdict for stage in found.stages] == [
        StageVerdict.PASS, StageVerdict.INCOMPLETE,
    ]  # fmt: skip
    assert found.disagreements == ()


def test_what_the_run_owed_beside_its_stages_is_owed_anew(tmp_path: Path) -> None:
    by_hand = OwedWork("", OwedWhat.STAGE(stage="Smell"), NO_LAMP)
    of_stage_only = OwedWork(FIRST, OwedWhat.STAGE(stage="Fan"), CARD_GONE)
    told = end(RunVerdict.CONDITIONAL, NO_LAMP, owed=(by_hand, of_stage_only))
    found = judged(tmp_path, passed(), told)
    assert found.verdict is RunVerdict.CONDITIONAL
    owed = VerdictReason.OWED_BECAUSE(what=(by_hand.what,), reason=NO_LAMP)
    assert found.reason == VerdictReason.STILL_OWED(owed=(owed,))  # its stages owe nothing any more


def test_what_its_profile_owes_no_pass_leaves_out(tmp_path: Path) -> None:
    work = OwedWork("", ProfileOwed("soak_with_loop")(), ProfileReason("no_loop_on_bench")())
    owing = start(opened_profile(OWING))
    found = judge_anew(record_of(tmp_path / "1", owing, passed(), end(RunVerdict.PASS)))
    owed = VerdictReason.OWED_BECAUSE(what=(work.what,), reason=work.reason)
    assert found.verdict is RunVerdict.CONDITIONAL
    assert found.reason == VerdictReason.STILL_OWED(owed=(owed,))
    assert found.disagreements == (
        Disagreement.RUN(told=RunVerdict.PASS, follows=RunVerdict.CONDITIONAL),
        Disagreement.OWED_BY_PROFILE(owed_count=1),
    )
    named = end(RunVerdict.PASS, owed=(work,))
    found = judge_anew(record_of(tmp_path / "2", owing, passed(), named))
    assert [one.code for one in found.disagreements] == [Disagreement.RUN.value]
    honest = end(RunVerdict.CONDITIONAL, NO_LAMP, owed=(work,))
    found = judge_anew(record_of(tmp_path / "3", owing, passed(), honest))
    assert found.disagreements == ()


def test_a_profile_of_another_version_owes_nothing(tmp_path: Path) -> None:
    """Its text cannot be read as a profile any more; its SHA-256 is looked at elsewhere."""
    strange = opened_profile()
    opening = start(replace(strange, text="format = 99\n"))
    found = judge_anew(record_of(tmp_path, opening, passed(), end(RunVerdict.PASS)))
    assert found.verdict is RunVerdict.PASS


# ---- whether any of it may be taken over


def test_nothing_of_a_record_with_a_flaw_is_taken_over(tmp_path: Path) -> None:
    folder = record_of(tmp_path, start(), passed(), end(RunVerdict.PASS)).folder
    (folder / "samples.csv").unlink()
    found = judge_anew(read_record(folder))
    missing = RecordReason.FILE_MISSING(file="samples.csv")
    assert missing in found.unsound
    assert found.why_not_taken_over(FIRST) == found.unsound[0]
    assert not found.holds(FIRST)


def test_a_record_without_a_chain_is_not_taken_over(data: Path) -> None:
    found = judge_anew(read_record(data / "records" / "compute_card_cuda"))
    assert found.unsound == (RecordReason.NO_CHAIN(),)


def test_a_torn_last_line_is_no_flaw_that_costs_a_record_its_rows(tmp_path: Path) -> None:
    cut: list[Event | Told] = [start(), passed(), Told(SECOND, "display", None, (good(),))]
    folder = record_of(tmp_path, *cut).folder
    readings = folder / "readings.csv"
    readings.write_bytes(readings.read_bytes()[:-3])
    record = read_record(folder)
    assert record.condition.torn
    assert judge_anew(record).unsound == ()


def test_which_stage_a_flaw_speaks_of() -> None:
    no_stage = Disagreement.RUN(told="pass", follows="fail")
    of_second = Disagreement.STAGE(stage=SECOND, told="pass", follows="fail")
    found = JudgedAnew(
        RunVerdict.PASS, NO_LAMP, (), (), (), (no_stage, of_second), ()
    )
    assert [found.why_not_taken_over(stage) for stage in (FIRST, SECOND)] == [None, of_second]
    assert [found.holds(stage) for stage in (FIRST, SECOND)] == [True, False]
    flaws: tuple[Reason, ...] = (RecordReason.NO_CHAIN(), no_stage)
    unsound = replace(found, unsound=flaws)
    assert {unsound.why_not_taken_over(stage) for stage in (FIRST, SECOND)} == {flaws[0]}

