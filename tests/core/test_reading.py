"""A verdict follows from value, uncertainty and limit, and from nothing else."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.core.reading import (
    Limit,
    NotMeasured,
    Verdict,
    decide,
    integer_code_uncertainty,
    judge,
    judge_text,
    known,
    not_measured,
)

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
    assert "85" not in reading.reason or "84.8" in reading.reason


@pytest.mark.parametrize("value", [math.nan, float("nan")])
def test_not_a_number_is_not_measured(value: float) -> None:
    assert judge("x", value, "", Limit(upper=1.0)).verdict is Verdict.NOT_MEASURED


def test_what_is_not_measured_is_never_a_pass() -> None:
    why = NotMeasured("no sensor")
    assert judge("x", why, "W", Limit(upper=1.0)).verdict is Verdict.NOT_MEASURED
    assert judge("x", why, "W", None).verdict is Verdict.NOT_MEASURED
    assert judge_text("x", why, ("a",)).verdict is Verdict.NOT_MEASURED
    assert known(why) is None
    assert not why


def test_a_value_that_nothing_judges_has_no_verdict() -> None:
    assert judge("x", 1.0, "", None).verdict is None
    assert judge_text("x", "word", None).verdict is None


def test_not_measured_needs_its_reason() -> None:
    with pytest.raises(ValueError, match="reason"):
        not_measured("x", "", "")


def test_a_limit_turned_round_is_refused() -> None:
    with pytest.raises(ValueError, match="turned round"):
        Limit(2.0, 1.0)


def test_uncertainty_of_a_whole_degree_sensor() -> None:
    # JCGM 100:2008, 4.3.7: rectangular distribution of width 1 has the standard deviation 1/√12.
    assert integer_code_uncertainty(1.0) == pytest.approx(2 * 0.288675, abs=1e-5)
