"""The thermal fit against scipy's curve_fit on an analytic step response.

Source of the response: one thermal resistance and capacity, T(t) = T_end + (T_0 - T_end)·e^(-t/τ)
(lumped capacitance; Incropera and DeWitt, chapter 5, from memory). Reference: scipy.optimize
(Levenberg-Marquardt).
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import curve_fit

from burnin.stages.thermal_ramp.thermal_fit import fit_step


def response(t: np.ndarray, end: float, start: float, tau: float) -> np.ndarray:
    return np.asarray(end + (start - end) * np.exp(-t / tau))


@settings(max_examples=25, deadline=None)
@given(st.floats(45, 95), st.floats(5, 100), st.integers(0, 1000))
def test_same_answer_as_scipy_on_noisy_steps(end: float, tau: float, seed: int) -> None:
    rng = np.random.default_rng(seed)
    t = np.arange(0.0, 4 * tau, tau / 60)
    y = response(t, end, 30.0, tau) + rng.normal(0, 0.2, t.size)
    reference, covariance = curve_fit(response, t, y, p0=(end, 30.0, tau))
    fit = fit_step(list(t), list(y), 0.2)
    assert fit is not None
    assert fit.end_c == pytest.approx(reference[0], abs=0.05)
    assert fit.tau_s == pytest.approx(reference[2], rel=0.02)
    # Same size of standard error: ours counts runs of equal codes, never more points than scipy.
    assert fit.end_std_c >= 0.7 * float(np.sqrt(covariance[0, 0]))


def test_whole_degrees_are_covered_by_the_stated_error() -> None:
    t = np.arange(0.0, 240.0, 0.1)
    inside = 0
    for seed in range(40):
        end = 60.0 + 20.0 * np.random.default_rng(seed).random()
        y = np.floor(response(t, end, 35.0, 60.0) + 0.5)
        fit = fit_step(list(t), list(y), 1.0)
        assert fit is not None
        inside += abs(fit.end_c - end) <= 2 * np.hypot(fit.end_std_c, 1 / np.sqrt(12))
    assert inside >= 38


def test_a_temperature_that_does_not_move_has_no_fit() -> None:
    assert fit_step([0.1 * n for n in range(100)], [45.0] * 100, 1.0) is None
    assert fit_step([0.0, 1.0], [1.0, 9.0], 1.0) is None
