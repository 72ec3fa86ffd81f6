"""A verdict follows from value, uncertainty and limit, and from nothing else."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

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
def test_pass_means_the_whole_interval_lies_inside(
    value: float, uncertainty: float, a: float, b: float
) -> None:
    limit = Limit(min(a, b), max(a, b))
    inside = min(a, b) <= value - uncertainty and value + uncertainty <= max(a, b)
    assert (decide(value, uncertainty, limit) is Verdict.PASS) == inside


@given(finite, spread, finite)
def test_fail_means_the_whole_interval_lies_outside(
    value: float, uncertainty: float, upper: float
) -> None:
    failed = decide(value, uncertainty, Limit(upper=upper)) is Verdict.FAIL
    assert failed == (value - uncertainty > upper)


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
