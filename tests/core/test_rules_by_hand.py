"""Readings, stages and runs judged, each whole result written out by hand.

Beside the laws of `test_reading.py` and `test_verdict.py`: here every field of what comes out
stands as it must be, so that none is lost on the way.
"""

from __future__ import annotations

import math

import pytest

from burnin.core.decision import (
    POSSIBLE,
    USUAL_RULE,
    Decided,
    DecisionRule,
    Form,
    RuleTerm,
    SensorAccuracy,
    Spread,
    chance_outside,
    is_possible,
    rule_of,
    spread,
)
from burnin.core.meaning import Reason, Source, Term
from burnin.core.reading import (
    Limit,
    LimitTerm,
    NotMeasured,
    Reading,
    ReadingReason,
    Verdict,
    decide,
    integer_code_uncertainty,
    judge,
    judge_text,
    not_measured,
    of_stage,
    reading_subject,
)
from burnin.core.verdict import (
    WHOLE_RUN,
    Ended,
    OwedWhat,
    OwedWork,
    RunVerdict,
    StageOutcome,
    StageVerdict,
    VerdictReason,
    owed_of_stage,
    run_verdict,
    stage_title,
    stage_verdict,
)

METER, WHY, OTHER = Source("test_meter"), ReadingReason.NOT_READ(), ReadingReason.NOT_FINITE()
UNREAD = NotMeasured(WHY)
USUAL = RuleTerm.NORMAL(pass_risk_pct=5.0, fail_sure_pct=95.0)
LIMIT = Limit(1.0, 9.0)


# ---- a number


def test_a_number_that_passes_keeps_all_that_was_said_of_it() -> None:
    found = judge("x", 5.0, "W", LIMIT, uncertainty=0.5, source=METER, required=False)
    assert found == Reading(
        "x", 5.0, "W", 0.5, LIMIT, (), Verdict.PASS, None, METER, False, "", USUAL
    )


def test_a_number_that_fails_says_value_unit_and_limit_or_what_the_stage_says() -> None:
    outside = ReadingReason.OUTSIDE_LIMIT(value=12.0, unit="W", limit=LIMIT.term())
    for said, reason in ((None, outside), (OTHER, OTHER)):
        found = judge("x", 12.0, "W", LIMIT, uncertainty=0.5, source=METER, why_fail=said)
        assert found == Reading(
            "x", 12.0, "W", 0.5, LIMIT, (), Verdict.FAIL, reason, METER, True, "", USUAL
        )


def test_a_number_near_its_limit_is_unsure_and_says_why() -> None:
    found = judge("x", 9.0, "W", LIMIT, uncertainty=0.5, source=METER, why_fail=OTHER)
    near = ReadingReason.LIMIT_INSIDE_UNCERTAINTY(value=9.0, uncertainty=0.5, unit="W")
    assert found == Reading(
        "x", 9.0, "W", 0.5, LIMIT, (), Verdict.UNSURE, near, METER, True, "", USUAL
    )


def test_a_number_that_nothing_judges_is_kept_as_it_is() -> None:
    found = judge("x", 5.0, "W", None, uncertainty=0.5, source=METER, required=False)
    assert found == Reading("x", 5.0, "W", 0.5, source=METER, required=False)


def test_a_number_without_an_uncertainty_in_a_measured_unit_is_no_pass() -> None:
    found = judge("x", 5.0, "W", LIMIT, source=METER)
    none = ReadingReason.NO_UNCERTAINTY(value=5.0, unit="W")
    assert found == Reading(
        "x", 5.0, "W", 0.0, LIMIT, (), Verdict.UNSURE, none, METER, True, "", RuleTerm.COUNTED()
    )


@pytest.mark.parametrize("required", [True, False])
@pytest.mark.parametrize(
    ("value", "uncertainty", "reason"),
    [
        (UNREAD, 0.1, WHY),
        (math.nan, 0.1, ReadingReason.NOT_A_NUMBER()),
        (5.0, math.nan, ReadingReason.NOT_A_NUMBER()),
        (math.inf, 0.1, ReadingReason.NOT_FINITE()),
        (-math.inf, 0.1, ReadingReason.NOT_FINITE()),
        (-3.0, 0.1, ReadingReason.IMPOSSIBLE(value=-3.0, unit="W")),
        (5.0, -0.1, ReadingReason.IMPOSSIBLE(value=5.0, unit="W")),
    ],
)
def test_a_number_that_cannot_be_one_is_not_measured(
    value: float | NotMeasured, uncertainty: float, reason: Reason, required: bool
) -> None:
    found = judge(
        "x", value, "W", LIMIT, uncertainty=uncertainty, source=METER, required=required
    )
    assert found == Reading(
        "x", None, "W", 0.0, LIMIT, (), Verdict.NOT_MEASURED, reason, METER, required
    )
    assert not_measured(
        "x", "W", found.reason or WHY, limit=LIMIT, source=METER, required=required
    ) == found  # fmt: skip


def test_another_rule_and_form_are_used_and_told() -> None:
    strict = DecisionRule(0.01, 0.99)
    found = judge("x", 8.2, "W", LIMIT, uncertainty=0.8, form=Form.RECTANGULAR, rule=strict)
    assert found.rule == RuleTerm.RECTANGULAR(pass_risk_pct=1.0, fail_sure_pct=99.0)
    # half width √3·0.4 = 0.693 W: all of it lies below 9 W
    assert found.verdict is Verdict.PASS
    assert judge("x", 8.2, "W", LIMIT, uncertainty=0.8, rule=strict).verdict is Verdict.UNSURE


# ---- a word


def test_a_word_is_judged_by_the_words_that_are_allowed() -> None:
    good = judge_text("x", "a", ("a", "b"), source=METER, required=False)
    assert good == Reading(
        "x", "a", "", 0.0, None, ("a", "b"), Verdict.PASS, None, METER, False, "", RuleTerm.WORD()
    )
    wrong = ReadingReason.NOT_AMONG_ALLOWED(value="c", allowed=("a", "b"))
    for said, reason in ((None, wrong), (OTHER, OTHER)):
        bad = judge_text("x", "c", ("a", "b"), source=METER, why_fail=said)
        assert bad == Reading(
            "x", "c", "", 0.0, None, ("a", "b"), Verdict.FAIL, reason, METER, True, "",
            RuleTerm.WORD(),
        )  # fmt: skip


def test_a_word_that_nothing_judges_and_one_that_was_not_read() -> None:
    kept = judge_text("x", "a", None, source=METER, required=False)
    assert kept == Reading("x", "a", "", source=METER, required=False)
    for required in (True, False):
        missing = judge_text("x", UNREAD, ("a",), source=METER, required=required)
        assert missing == Reading(
            "x", None, "", 0.0, None, (), Verdict.NOT_MEASURED, WHY, METER, required
        )


def test_a_reading_is_filed_under_its_stage_and_named_by_its_subject() -> None:
    assert of_stage(judge("x", 1.0, "", None), "2-link") == Reading("x", 1.0, "", stage="2-link")
    assert reading_subject("edid DP-1 x") == ("edid", "DP-1 x")


@pytest.mark.parametrize(
    ("limit", "term"),
    [
        (Limit(2.0, 2.0), LimitTerm.EXACTLY(value=2.0)),
        (Limit(-2.0, 2.0), LimitTerm.WITHIN(value=2.0)),
        (Limit(1.0, 2.0), LimitTerm.BETWEEN(lower=1.0, upper=2.0)),
        (Limit(lower=1.0), LimitTerm.AT_LEAST(value=1.0)),
        (Limit(upper=2.0), LimitTerm.AT_MOST(value=2.0)),
        (Limit(), LimitTerm.NONE()),
    ],
)
def test_each_limit_has_its_term(limit: Limit, term: Term) -> None:
    assert limit.term() == term


# ---- the rule


@pytest.mark.parametrize(
    ("chance", "decided"),
    [
        (0.0, Decided.PASS), (0.05, Decided.PASS), (0.0501, Decided.UNSURE),
        (0.9499, Decided.UNSURE), (0.95, Decided.FAIL), (1.0, Decided.FAIL),
    ],
)  # fmt: skip
def test_risk_and_certainty_belong_to_what_they_allow(chance: float, decided: Decided) -> None:
    assert USUAL_RULE.decide(chance) is decided


def test_a_reading_says_its_rule_to_the_sixth_place() -> None:
    rule = DecisionRule(0.012345678, 0.987654321)
    assert rule.term(0.1, Form.NORMAL) == RuleTerm.NORMAL(
        pass_risk_pct=1.234568, fail_sure_pct=98.765432
    )
    assert rule.term(0.1, Form.RECTANGULAR) == RuleTerm.RECTANGULAR(
        pass_risk_pct=1.234568, fail_sure_pct=98.765432
    )
    assert rule.term(0.0, Form.NORMAL) == RuleTerm.COUNTED()


@pytest.mark.parametrize("code", [RuleTerm.NORMAL, RuleTerm.RECTANGULAR])
def test_the_rule_that_a_reading_names_is_read_back(code: RuleTerm) -> None:
    form = Form.NORMAL if code is RuleTerm.NORMAL else Form.RECTANGULAR
    told = code(pass_risk_pct=1.0, fail_sure_pct=90.0)
    assert rule_of(told) == (DecisionRule(0.01, 0.9), form)
    strict = code(pass_risk_pct=0.5, fail_sure_pct=99.5)
    assert rule_of(strict) == (DecisionRule(0.005, 0.995), form)
    for risk, sure in ((0.0, 90.0), (1.0, 100.0), (-1.0, 90.0), (1.0, 101.0), ("a", 90.0)):
        assert rule_of(code(pass_risk_pct=risk, fail_sure_pct=sure)) == (USUAL_RULE, form)
    for term in (None, RuleTerm.COUNTED(), RuleTerm.WORD()):
        assert rule_of(term) == (USUAL_RULE, Form.NORMAL)


@pytest.mark.parametrize(
    ("value", "uncertainty", "lower", "upper", "form", "chance"),
    [
        (5.0, 0.0, 5.0, 5.0, Form.NORMAL, 0.0),
        (5.0, 0.0, 5.1, None, Form.NORMAL, 1.0),
        (5.0, 0.0, None, 4.9, Form.NORMAL, 1.0),
        (5.0, 5e-324, 5.0, None, Form.NORMAL, 0.0),
        (1e300, 1.0, 1e300, None, Form.NORMAL, 0.0),  # lost in the value's own last digit
        (1e300, 1.0, None, 1e299, Form.NORMAL, 1.0),
        (5.0, math.inf, 0.0, 9.0, Form.NORMAL, 0.5),
        (5.0, 2.0, 5.0, None, Form.NORMAL, 0.5),
        (5.0, 2.0, None, 5.0, Form.NORMAL, 0.5),
        (5.0, 2.0, 4.0, 6.0, Form.NORMAL, 0.3173105),  # outside ± one standard deviation
        (5.0, 2.0, 5.0, 5.0, Form.NORMAL, 1.0),
        # a rectangle of half width √3 about 5
        (5.0, 2.0, 5.0 - math.sqrt(3.0) / 2.0, None, Form.RECTANGULAR, 0.25),
        (5.0, 2.0, None, 5.0 + math.sqrt(3.0) / 2.0, Form.RECTANGULAR, 0.25),
        (5.0, 2.0, 3.0, 7.0, Form.RECTANGULAR, 0.0),
        (5.0, 2.0, 7.0, None, Form.RECTANGULAR, 1.0),
        (5.0, 2.0, None, 3.0, Form.RECTANGULAR, 1.0),
        (5.0, 2.0, None, None, Form.NORMAL, 0.0),
    ],
)
def test_the_chance_of_lying_outside(
    value: float, uncertainty: float, lower: float | None, upper: float | None, form: Form,
    chance: float,
) -> None:  # fmt: skip
    assert chance_outside(value, uncertainty, lower, upper, form) == pytest.approx(chance, abs=1e-6)


def test_uncertainties_are_put_together() -> None:
    # JCGM 100:2008, 4.3.7: a rectangle of width 1 has the variance 1/12, of half width 1 one of 1/3
    both = 2.0 * math.sqrt(1.0 / 12.0 + 4.0 / 12.0 + 4.0 / 3.0 + 0.25)
    for found, uncertainty, form in (
        (spread((1.0,)), 2.0 / math.sqrt(12.0), Form.RECTANGULAR),
        (spread(within=2.0), 2.0 * math.sqrt(4.0 / 3.0), Form.RECTANGULAR),
        (spread(std=0.5), 1.0, Form.NORMAL),
        (spread((1.0, 2.0), 2.0, 0.5), both, Form.NORMAL),
    ):
        assert found.uncertainty == pytest.approx(uncertainty)
        assert found.form is form
    assert spread() == Spread(0.0, Form.NORMAL)
    # one rectangle decides the form from nine tenths of the variance on
    assert spread((math.sqrt(12.0),), std=math.sqrt(1.0 / 9.0) - 1e-6).form is Form.RECTANGULAR
    assert spread((math.sqrt(12.0),), std=math.sqrt(1.0 / 9.0) + 1e-6).form is Form.NORMAL


def test_a_temperature_has_step_maker_and_calibration_in_its_uncertainty() -> None:
    made = SensorAccuracy(temp_within_k=2.0, temp_add_u_k=0.6)
    expected = 2.0 * math.sqrt(1.0 / 12.0 + 4.0 / 3.0 + 0.3**2)
    assert made.of_temperature(1.0).uncertainty == pytest.approx(expected)


@pytest.mark.parametrize("unit", sorted(POSSIBLE))
def test_the_bounds_of_what_a_unit_can_be_belong_to_it(unit: str) -> None:
    low, high = POSSIBLE[unit]
    assert is_possible(low, unit)
    assert is_possible(high, unit)
    assert not is_possible(math.nextafter(low, -math.inf), unit)
    assert not is_possible(math.nextafter(high, math.inf), unit)
    assert is_possible(1e300, "a unit that is not listed")


def test_what_is_no_finite_value_is_decided_by_nobody() -> None:
    for value, uncertainty in ((math.nan, 0.1), (math.inf, 0.1), (-math.inf, 0.1), (5.0, math.nan)):
        assert decide(value, uncertainty, LIMIT) is Verdict.NOT_MEASURED


# ---- stages and runs

GOOD = judge("good", 1.0, "", Limit(upper=2.0))
BAD = judge("bad", 3.0, "", Limit(upper=2.0), why_fail=OTHER)
UNSURE = judge("unsure", 2.0, "", Limit(upper=2.0), uncertainty=0.5)
MISSING = judge("missing", UNREAD, "", Limit(upper=2.0))
SPARE = judge("spare", UNREAD, "", None, required=False)


def open_reason(reading: Reading) -> Reason:
    return VerdictReason.READING_OPEN(reading=reading.name, reason=reading.reason)


@pytest.mark.parametrize(
    ("taken", "verdict", "reasons"),
    [
        ((GOOD,), StageVerdict.PASS, ()),
        ((GOOD, SPARE), StageVerdict.PASS, ()),
        ((GOOD, BAD, MISSING), StageVerdict.FAIL, (OTHER,)),
        ((BAD, BAD), StageVerdict.FAIL, (OTHER,)),
        ((GOOD, MISSING), StageVerdict.CONDITIONAL, (open_reason(MISSING),)),
        ((GOOD, UNSURE, MISSING), StageVerdict.CONDITIONAL,
         (open_reason(UNSURE), open_reason(MISSING))),
        ((MISSING,), StageVerdict.NOT_MEASURED, (open_reason(MISSING),)),
        ((SPARE,), StageVerdict.NOT_MEASURED, (VerdictReason.NOTHING_JUDGED(),)),
        ((), StageVerdict.NOT_MEASURED, (VerdictReason.NOTHING_JUDGED(),)),
    ],
)  # fmt: skip
def test_a_stage_from_its_readings(
    taken: tuple[Reading, ...], verdict: StageVerdict, reasons: tuple[object, ...]
) -> None:
    assert stage_verdict(taken) == (verdict, reasons)


def outcome(verdict: StageVerdict, kind: str = "memory", title: str = "Soak") -> StageOutcome:
    reasons = () if verdict is StageVerdict.PASS else (WHY,)
    return StageOutcome(f"1-{kind}", kind, title, verdict, reasons)


def because(one: StageOutcome) -> Reason:
    return VerdictReason.STAGE_BECAUSE(
        stage=stage_title(one.kind, one.own_title), reasons=one.reasons
    )


def test_a_stage_has_its_own_title_or_that_of_its_kind() -> None:
    assert stage_title("memory", "Soak") == "Soak"
    assert stage_title("memory", "") == Term("stage_memory")


@pytest.mark.parametrize("verdict", [StageVerdict.NOT_MEASURED, StageVerdict.ABORTED])
def test_a_stage_of_which_nothing_was_judged_is_owed_as_a_whole(verdict: StageVerdict) -> None:
    whole = [OwedWork("1-memory", OwedWhat.STAGE(stage="Soak"), WHY)]
    assert owed_of_stage(outcome(verdict), [SPARE, MISSING]) == whole
    part = [OwedWork("1-memory", OwedWhat.READING(stage="Soak", reading="missing"), WHY)]
    for judged in (GOOD, BAD):
        assert owed_of_stage(outcome(verdict), [judged, MISSING]) == part
    assert owed_of_stage(outcome(StageVerdict.CONDITIONAL), [MISSING, SPARE, GOOD]) == part


def test_a_run_that_passed_counts_its_stages_without_the_closing_part() -> None:
    stages = [outcome(StageVerdict.PASS), outcome(StageVerdict.PASS, WHOLE_RUN)]
    assert run_verdict(stages, [], Ended.DONE, None) == (
        RunVerdict.PASS, VerdictReason.ALL_STAGES_PASSED(stages_count=1),
    )  # fmt: skip


def test_a_run_that_failed_was_ended_or_owes_says_so() -> None:
    good, bad = outcome(StageVerdict.PASS), outcome(StageVerdict.FAIL)
    failed = (because(bad),)
    assert run_verdict([good, bad], [], Ended.DONE, None) == (
        RunVerdict.FAIL, VerdictReason.STAGES_FAILED(stages=failed),
    )  # fmt: skip
    assert run_verdict([good], [], Ended.TRIPPED, OTHER) == (
        RunVerdict.ABORTED, VerdictReason.LOAD_ENDED(reason=OTHER),
    )  # fmt: skip
    assert run_verdict([good, bad], [], Ended.TRIPPED, OTHER) == (
        RunVerdict.ABORTED,
        VerdictReason.LOAD_ENDED_AFTER_FAILURES(reason=OTHER, stages=failed),
    )
    assert run_verdict([good], [], Ended.STOPPED_BY_HAND, OTHER) == (RunVerdict.CONDITIONAL, OTHER)
    owed = [
        OwedWork("1", OwedWhat.WHOLE_RUN(), WHY), OwedWork("2", OwedWhat.STAGE(stage="a"), WHY),
        OwedWork("3", OwedWhat.STAGE(stage="b"), OTHER),
    ]  # fmt: skip
    told = (
        VerdictReason.OWED_BECAUSE(
            what=(OwedWhat.WHOLE_RUN(), OwedWhat.STAGE(stage="a")), reason=WHY
        ),
        VerdictReason.OWED_BECAUSE(what=(OwedWhat.STAGE(stage="b"),), reason=OTHER),
    )
    assert run_verdict([good], owed, Ended.DONE, None) == (
        RunVerdict.CONDITIONAL, VerdictReason.STILL_OWED(owed=told),
    )  # fmt: skip
    short = outcome(StageVerdict.CONDITIONAL)
    assert run_verdict([good, short], [], Ended.DONE, None) == (
        RunVerdict.CONDITIONAL, VerdictReason.STILL_OWED(owed=(because(short),)),
    )  # fmt: skip
    assert run_verdict([], [], Ended.DONE, None)[0] is RunVerdict.CONDITIONAL


def test_a_step_gives_twice_its_width_over_the_root_of_twelve() -> None:
    assert integer_code_uncertainty(0.5) == pytest.approx(0.288675, abs=1e-5)
    assert integer_code_uncertainty(4.0) == pytest.approx(2.309401, abs=1e-5)


def test_only_an_uncertainty_that_moves_the_value_neither_way_is_lost_in_it() -> None:
    """Below a power of two numbers lie twice as close as above it."""
    value = 2.0**53
    assert value + 1.0 == value != value - 1.0
    assert chance_outside(value, 1.0, None, value) == pytest.approx(0.5)
    assert chance_outside(-value, 1.0, -value, None) == pytest.approx(0.5)
    assert chance_outside(value, 0.25, None, value) == 0.0
