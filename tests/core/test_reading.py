"""A verdict follows from value, uncertainty and limit, and from nothing else."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.core.accepted_risk import under_rule
from burnin.core.count_readings import judge_count, judge_ratio
from burnin.core.decision import (
    MEASURED_UNITS,
    USUAL_RULE,
    DecisionRule,
    Form,
    RuleTerm,
    chance_outside,
    rule_of,
)
from burnin.core.meaning import Meaning
from burnin.core.reading import (
    Limit,
    LimitTerm,
    NotMeasured,
    ReadingReason,
    Verdict,
    decide,
    integer_code_uncertainty,
    judge,
    judge_text,
    known,
    not_measured,
)
from burnin.report.languages.catalogue import catalogue

finite = st.floats(-1e6, 1e6)
spread = st.floats(0.0, 1e4)


@given(finite, spread, finite, finite)
def test_pass_means_at_most_five_per_cent_outside(
    value: float, uncertainty: float, a: float, b: float
) -> None:
    lower, upper = min(a, b), max(a, b)
    outside = chance_outside(value, uncertainty, lower, upper)
    assert (decide(value, uncertainty, Limit(lower, upper)) is Verdict.PASS) == (outside <= 0.05)


@given(finite, spread, finite, finite)
def test_what_lies_inside_with_all_of_its_interval_passes(
    value: float, uncertainty: float, a: float, b: float
) -> None:
    """No value that the whole of value ± U held inside is lost."""
    limit = Limit(min(a, b), max(a, b))
    # Exactly: a small uncertainty is lost in a sum of floating-point numbers.
    middle, spread_ = Fraction(value), Fraction(uncertainty)
    if min(a, b) <= middle - spread_ and middle + spread_ <= max(a, b):
        assert decide(value, uncertainty, limit) is Verdict.PASS


@given(finite, spread, finite)
def test_fail_means_at_least_ninety_five_per_cent_outside(
    value: float, uncertainty: float, upper: float
) -> None:
    failed = decide(value, uncertainty, Limit(upper=upper)) is Verdict.FAIL
    assert failed == (chance_outside(value, uncertainty, None, upper) >= 0.95)


@given(finite, st.floats(1e-6, 1e4), finite, st.floats(0.001, 0.2))
def test_a_smaller_accepted_risk_never_makes_a_pass(
    value: float, uncertainty: float, upper: float, risk: float
) -> None:
    strict = decide(value, uncertainty, Limit(upper=upper), DecisionRule(pass_risk=risk / 2))
    lax = decide(value, uncertainty, Limit(upper=upper), DecisionRule(pass_risk=risk))
    assert strict is not Verdict.PASS or lax is Verdict.PASS


def test_a_reading_says_which_rule_judged_it() -> None:
    hot = judge("gpu_temp_max_c", 84.0, "°C", Limit(upper=85.0), uncertainty=0.58)
    assert hot.rule == RuleTerm.NORMAL(pass_risk_pct=5.0, fail_sure_pct=95.0)
    assert judge("failing_words", 0.0, "", Limit(0, 0)).rule == RuleTerm.COUNTED()
    assert judge_text("driver", "a", ("a",)).rule == RuleTerm.WORD()
    assert judge("power_w", 84.0, "W", None, uncertainty=1.0).rule is None
    assert rule_of(hot.rule) == (USUAL_RULE, Form.NORMAL)
    assert rule_of(Meaning("rule_rectangular")) == (USUAL_RULE, Form.RECTANGULAR)  # cut short


@pytest.mark.parametrize("unit", sorted(MEASURED_UNITS))
def test_a_measured_value_without_an_uncertainty_is_no_pass(unit: str) -> None:
    reading = judge("x", 5.0, unit, Limit(upper=10.0))
    assert reading.verdict is Verdict.UNSURE
    assert reading.reason == ReadingReason.NO_UNCERTAINTY(value=5.0, unit=unit)
    assert judge("x", 15.0, unit, Limit(upper=10.0)).verdict is Verdict.FAIL


@pytest.mark.parametrize(
    ("value", "unit"),
    [
        (math.nan, "W"), (math.inf, "W"), (-math.inf, "K"), (math.inf, ""), (-3.0, "W"),
        (1e9, "°C"), (-300.0, "°C"), (33.0, "lanes"), (-1.0, ""), (1e30, ""), (-0.1, "Ω"),
    ],
)  # fmt: skip
def test_what_cannot_be_was_not_measured(value: float, unit: str) -> None:
    for limit in (Limit(-1e40, 1e40), Limit(upper=1e40), None):
        reading = judge("x", value, unit, limit, uncertainty=0.1)
        assert reading.verdict is Verdict.NOT_MEASURED
        assert reading.value is None


def test_an_uncertainty_that_is_none_judges_nothing() -> None:
    assert judge("x", 1.0, "W", Limit(upper=9.0), uncertainty=math.nan).verdict is (
        Verdict.NOT_MEASURED
    )
    assert judge("x", 1.0, "W", Limit(upper=9.0), uncertainty=-1.0).verdict is (
        Verdict.NOT_MEASURED
    )
    assert judge("x", 1.0, "W", Limit(upper=9.0), uncertainty=math.inf).verdict is Verdict.UNSURE


@pytest.mark.parametrize("limit", [Limit(upper=9.0), Limit(lower=0.0), Limit(0.5, 1.5), None])
def test_an_uncertainty_that_is_no_number_leaves_no_value_and_says_so(limit: Limit | None) -> None:
    reading = judge("x", 1.0, "W", limit, uncertainty=math.nan)
    assert (reading.value, reading.verdict) == (None, Verdict.NOT_MEASURED)
    assert reading.reason == ReadingReason.NOT_A_NUMBER()
    if limit is not None:
        assert decide(1.0, math.nan, limit) is Verdict.NOT_MEASURED
        assert decide(math.nan, 0.1, limit) is Verdict.NOT_MEASURED


def test_a_count_fails_where_its_exact_lower_bound_lies_above_chance() -> None:
    # scipy: χ²(0.05; 2·10)/2 = 5.425 for ten events.
    assert judge_count("errors", 10, 15.0).verdict is Verdict.PASS
    assert judge_count("errors", 10, 5.43).verdict is Verdict.PASS
    failed = judge_count("errors", 10, 5.42)
    assert failed.verdict is Verdict.FAIL
    assert failed.reason is not None
    assert failed.reason.means(ReadingReason.MORE_THAN_CHANCE)
    assert judge_count("errors", 0, 0.0).verdict is Verdict.PASS
    assert judge_count("errors", 1, 0.0).verdict is Verdict.FAIL
    assert judge_count("errors", -1, 9.0).verdict is Verdict.NOT_MEASURED
    assert judge_count("errors", 1, math.inf).verdict is Verdict.NOT_MEASURED


def test_a_share_of_tries_is_judged_by_its_exact_bounds() -> None:
    # Clopper-Pearson: three of three leave a lower bound of 0.05 to the power of a third, 0.368.
    three = judge_ratio("sound_starts_share", 3, 3, 0.36)
    assert three.verdict is Verdict.PASS
    assert three.rule is not None
    assert three.rule["lower"] == pytest.approx(0.05 ** (1 / 3))
    assert judge_ratio("sound_starts_share", 3, 3, 0.9).verdict is Verdict.UNSURE
    assert judge_ratio("sound_starts_share", 0, 3, 0.9).verdict is Verdict.FAIL
    assert judge_ratio("sound_starts_share", 3, 3, None).verdict is None
    assert judge_ratio("sound_starts_share", 4, 3, 0.9).verdict is Verdict.NOT_MEASURED


def test_another_accepted_risk_judges_anew_what_a_chance_has_judged() -> None:
    # 1.7 standard uncertainties below the limit: 4.5 % chance of lying above.
    near = judge("gpu_temp_max_c", 84.15, "°C", Limit(upper=85.0), uncertainty=1.0)
    assert near.verdict is Verdict.PASS
    strict = under_rule(near, DecisionRule(pass_risk=0.01))
    assert strict.verdict is Verdict.UNSURE
    assert strict.rule == RuleTerm.NORMAL(pass_risk_pct=1.0, fail_sure_pct=95.0)
    count = judge("failing_words", 0.0, "", Limit(0, 0))
    assert under_rule(count, DecisionRule(pass_risk=0.01)) is count


def test_a_limit_inside_the_uncertainty_is_unsure() -> None:
    reading = judge("gpu_temp_max_c", 84.8, "°C", Limit(upper=85.0), uncertainty=0.58)
    assert reading.verdict is Verdict.UNSURE
    assert reading.reason is not None
    assert reading.reason.means(ReadingReason.LIMIT_INSIDE_UNCERTAINTY)
    assert catalogue("en").say(reading.reason) == "the limit lies inside 84.80 ± 0.58 °C"
    assert catalogue("de").say(reading.reason) == (
        "die Grenze liegt innerhalb von 84,80 ± 0,58 °C"
    )


def test_what_lies_outside_says_value_unit_and_limit() -> None:
    reading = judge("gpu_temp_max_c", 91.0, "°C", Limit(upper=85.0))
    assert reading.reason is not None
    assert catalogue("en").say(reading.reason) == "91 °C, must be ≤ 85"
    assert reading.reason["limit"] == LimitTerm.AT_MOST(value=85.0)


@pytest.mark.parametrize(
    ("limit", "told"),
    [
        (Limit(3.0, 3.0), "= 3"),
        (Limit(-2.0, 2.0), "within ± 2"),
        (Limit(1.0, 2.0), "≥ 1 and ≤ 2"),
        (Limit(lower=1.5), "≥ 1.5"),
        (Limit(upper=1e12), "≤ 1e+12"),
    ],
)
def test_a_limit_is_worded(limit: Limit, told: str) -> None:
    assert catalogue("en").say(limit.term()) == told


@pytest.mark.parametrize("value", [math.nan, float("nan")])
def test_not_a_number_is_not_measured(value: float) -> None:
    assert judge("x", value, "", Limit(upper=1.0)).verdict is Verdict.NOT_MEASURED


def test_what_is_not_measured_is_never_a_pass() -> None:
    why = NotMeasured(ReadingReason.NOT_READ())
    assert judge("x", why, "W", Limit(upper=1.0)).verdict is Verdict.NOT_MEASURED
    assert judge("x", why, "W", None).verdict is Verdict.NOT_MEASURED
    assert judge_text("x", why, ("a",)).verdict is Verdict.NOT_MEASURED
    assert known(why) is None
    assert not why


def test_a_value_that_nothing_judges_has_no_verdict() -> None:
    assert judge("x", 1.0, "", None).verdict is None
    assert judge_text("x", "word", None).verdict is None


def test_what_is_not_measured_keeps_its_reason() -> None:
    reading = not_measured("x", "", ReadingReason.NOT_READ())
    assert (reading.value, reading.reason) == (None, ReadingReason.NOT_READ())
    assert judge("x", NotMeasured(ReadingReason.NOT_READ()), "", None).reason == reading.reason


def test_a_limit_turned_round_is_refused() -> None:
    with pytest.raises(ValueError, match="turned round"):
        Limit(2.0, 1.0)


def test_uncertainty_of_a_whole_degree_sensor() -> None:
    # JCGM 100:2008, 4.3.7: rectangular distribution of width 1 has the standard deviation 1/√12.
    assert integer_code_uncertainty(1.0) == pytest.approx(2 * 0.288675, abs=1e-5)
