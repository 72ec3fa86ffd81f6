"""How far from rest a step ended, against responses whose end is known and against real cards."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.stages.thermal_ramp.tail import Tail, tail_of
from tests.evaluation.tails import recordings, told


def _step(length_s: float, course: object) -> Tail:
    assert callable(course)
    points = [
        (tenth / 10.0, float(round(course(tenth / 10.0)))) for tenth in range(int(length_s * 10))
    ]
    tail = tail_of(points, min(60.0, length_s / 2), 1.0)
    assert tail is not None
    return tail


@given(rise_k=st.floats(3.0, 30.0), tau_s=st.floats(4.0, 40.0), length_s=st.floats(45.0, 180.0))
def test_the_rise_still_to_come_of_one_resistance_and_capacity(
    rise_k: float, tau_s: float, length_s: float
) -> None:
    """T(t) = T_end - rise exp(-t/tau): what is left at the end is known (lumped capacitance)."""
    tail = _step(length_s, lambda t: 60.3 - rise_k * math.exp(-t / tau_s))
    left_k = 60.3 - tail.now_c
    assert tail.left_k is None or left_k <= tail.left_k + tail.left_u_k + 0.5  # half a sensor step


@pytest.mark.parametrize("fall_k_a_minute", [0.1, 1.0, 2.3, 3.0])
def test_what_falls_has_no_rise_to_come(fall_k_a_minute: float) -> None:
    tail = _step(80.0, lambda t: 72.4 - fall_k_a_minute * t / 60.0)
    assert tail.left_k == pytest.approx(0.0, abs=0.2)
    assert tail.left_u_k < 2.0


@pytest.mark.parametrize("k_per_s", [0.1, 0.3, 1.0])
def test_where_a_straight_rise_ends_is_not_told(k_per_s: float) -> None:
    """A block without a way out for its heat."""
    tail = _step(60.0, lambda t: 30.0 + k_per_s * t)
    assert tail.left_k is None
    assert tail.per_minute_k == pytest.approx(60.0 * k_per_s, rel=0.1)


def test_two_responses_one_after_the_other_are_less_sure() -> None:
    """A block (8 s) and the water of a loop (90 s): one response does not carry both."""
    one = _step(90.0, lambda t: 50.0 - 9.0 * math.exp(-t / 20.0))
    both = _step(90.0, lambda t: 54.0 - 5.0 * math.exp(-t / 8.0) - 6.0 * math.exp(-t / 45.0))
    assert both.left_k is None or both.left_u_k > one.left_u_k


def test_real_tails_keep_what_was_told() -> None:
    files = recordings()
    assert len(files) > 10
    said = [one for file in files for one in told(file) if one.left_k is not None]
    assert len(said) > 100
    assert sum(one.kept for one in said) >= 0.95 * len(said)
