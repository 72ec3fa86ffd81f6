"""The bound on the bit error rate against scipy's chi-square and published tables.

Sources: ½·χ²(0.95; 2k + 2) for k = 0 to 4 as printed in the Agilent N4903B manual, table 25 (2.996,
4.744, 6.296, 7.754, 9.154); scipy.stats.chi2; requirement 1e-12 per lane as quoted by Astera Labs.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import chi2

from burnin.stages.link.error_rate import Direction, poisson_lower, poisson_upper, seconds_to_show


@pytest.mark.parametrize(
    ("errors", "printed"), [(0, 2.996), (1, 4.744), (2, 6.296), (3, 7.754), (4, 9.154)]
)
def test_the_printed_table(errors: int, printed: float) -> None:
    assert poisson_upper(errors) == pytest.approx(printed, abs=6e-4)


@given(st.integers(0, 400), st.sampled_from([0.8, 0.9, 0.95, 0.99]))
def test_same_as_chi_square(errors: int, confidence: float) -> None:
    expected = 0.5 * chi2.ppf(confidence, 2 * errors + 2)
    assert poisson_upper(errors, confidence) == pytest.approx(expected, rel=1e-8)
    if errors:
        lower = 0.5 * chi2.ppf(1 - confidence, 2 * errors)
        assert poisson_lower(errors, confidence) == pytest.approx(lower, rel=1e-6, abs=1e-9)


@pytest.mark.parametrize(
    ("generation", "seconds"), [(1, 1198), (2, 599), (3, 374), (4, 187), (5, 94)]
)
def test_time_to_show_1e_12_at_full_rate(generation: int, seconds: float) -> None:
    # 2.996e12 bits over the rate of one lane: 2.5, 5, 8, 16, 32 GT/s.
    assert seconds_to_show(1e-12, generation) == pytest.approx(seconds, rel=0.005)


@given(st.integers(1, 16), st.integers(10**9, 10**14))
def test_a_lane_hides_in_an_average(width: int, moved: int) -> None:
    one = Direction(moved, 3, 1, width)
    assert one.bound_per_lane() == pytest.approx(width * one.bound_of_average())
    assert one.bound_per_lane() == pytest.approx(poisson_upper(3) * width / (8 * moved))


def test_shown_refuted_and_undecided() -> None:
    assert Direction(6 * 10**12, 0, 0, 16).shown(1e-12)
    assert not Direction(5 * 10**12, 0, 0, 16).shown(1e-12)
    assert not Direction(0, 0, 0, 16).shown(1.0)
    assert Direction(10**9, 90, 50, 16).refuted(1e-12)
    assert not Direction(10**12, 1, 1, 16).refuted(1e-12)
