"""The slope of the last seconds is that of least squares, however long it has been followed."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.guard.trend import SUMMED_ANEW_AFTER, Trend


@pytest.mark.parametrize("start_s", [0.0, 86_400.0])
def test_the_slope_is_that_of_least_squares_at_every_row(start_s: float) -> None:
    rng = np.random.default_rng(7)
    trend = Trend(6.0)
    time_s = start_s + np.cumsum(rng.uniform(0.05, 0.15, 3 * SUMMED_ANEW_AFTER))
    value = np.round(60.0 + 20.0 * np.sin(time_s / 30.0) + rng.normal(size=len(time_s)))
    checked = 0
    for k, (now, code) in enumerate(zip(time_s.tolist(), value.tolist(), strict=True)):
        trend.add(now, code)
        if k % 37 or now - time_s[0] < 6.0:
            continue
        inside = (time_s <= now) & (now - time_s <= 6.0)
        expected = np.polyfit(time_s[inside] - now, value[inside], 1)[0]
        assert trend.slope_per_s() == pytest.approx(expected, abs=1e-7)
        checked += 1
    assert checked > 50


@given(st.floats(0.0, 1e5), st.integers(20, 90))
def test_a_code_that_stands_has_no_slope(start_s: float, code: int) -> None:
    trend = Trend(6.0)
    for k in range(100):
        trend.add(start_s + 0.1 * k, float(code))
    assert trend.slope_per_s() == 0.0
    assert trend.mean_rise_per_s() == 0.0


def test_nothing_is_told_before_enough_is_seen() -> None:
    trend = Trend(6.0)
    for k in range(19):
        trend.add(0.1 * k, 30.0 + k)
        assert trend.slope_per_s() == 0.0
    trend.add(2.0, 50.0)
    assert trend.slope_per_s() == pytest.approx(10.0, abs=0.2)
