"""One code in whole steps: exact probability, mean and variance of what is left."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.thermal.sensor_steps import cut

SMALL = st.floats(0.2, 5.0)


@given(mean=st.floats(20.0, 90.0), sd=SMALL)
def test_probabilities_of_all_codes_sum_to_one(mean: float, sd: float) -> None:
    middle = round(mean)
    total = sum(
        cut(mean, sd, c - 0.5, c + 0.5)[0] for c in range(middle - 40, middle + 41)
        if abs(c - mean) < 4.5 * sd + 0.5
    )  # fmt: skip
    assert total == pytest.approx(1.0, abs=1e-3)


@given(mean=st.floats(-3.0, 3.0), sd=SMALL)
def test_a_cell_never_adds_uncertainty_and_pulls_towards_itself(mean: float, sd: float) -> None:
    _, shift, ratio = cut(mean, sd, -0.5, 0.5)
    assert 0.0 < ratio <= 1.0
    assert shift * mean <= 1e-9


def test_a_code_that_repeats_what_is_known_teaches_nothing() -> None:
    inside, shift, ratio = cut(40.0, 0.05, 39.5, 40.5)
    assert inside == pytest.approx(1.0)
    assert shift == pytest.approx(0.0, abs=1e-9)
    assert ratio == pytest.approx(1.0, abs=1e-6)


def test_a_code_far_away_acts_as_a_reading_of_its_centre() -> None:
    inside, shift, ratio = cut(20.0, 1.0, 39.5, 40.5)
    assert 0.0 < inside < 1e-12
    assert shift == pytest.approx(20.0 / (1.0 + 1.0 / 12.0))
    assert ratio == pytest.approx(1.0 / 13.0)
    assert math.isfinite(math.log(inside))
