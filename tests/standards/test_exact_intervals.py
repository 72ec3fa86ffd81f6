"""Exact intervals of counts and ratios, compared with scipy and with published values.

scipy: ½·χ² quantiles for the Poisson bounds (Garwood), beta quantiles for Clopper-Pearson.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from burnin.core.exact_intervals import (
    normal_below,
    poisson_at_most,
    poisson_lower,
    poisson_upper,
    ratio_lower,
    ratio_upper,
)

counts = st.one_of(st.integers(0, 60), st.integers(61, 5_000_000))
sure = st.sampled_from((0.5, 0.9, 0.95, 0.975, 0.99, 0.999))


@given(counts, sure)
def test_poisson_bounds_are_those_of_chi_squared(count: int, confidence: float) -> None:
    upper = stats.chi2.ppf(confidence, 2 * count + 2) / 2
    lower = stats.chi2.ppf(1 - confidence, 2 * count) / 2 if count else 0.0
    assert poisson_upper(count, confidence) == pytest.approx(upper, rel=1e-9)
    assert poisson_lower(count, confidence) == pytest.approx(lower, rel=1e-9)


@given(st.integers(1, 200_000), st.floats(0.0, 1.0), sure)
def test_ratio_bounds_are_those_of_clopper_and_pearson(
    tries: int, share: float, confidence: float
) -> None:
    hits = round(share * tries)
    upper = stats.beta.ppf(confidence, hits + 1, tries - hits) if hits < tries else 1.0
    lower = stats.beta.ppf(1 - confidence, hits, tries - hits + 1) if hits else 0.0
    assert ratio_upper(hits, tries, confidence) == pytest.approx(upper, abs=1e-9)
    assert ratio_lower(hits, tries, confidence) == pytest.approx(lower, abs=1e-9)


@given(st.integers(0, 400), st.floats(0.0, 500.0))
def test_the_poisson_sum_is_scipys(count: int, mean: float) -> None:
    assert poisson_at_most(count, mean) == pytest.approx(
        float(stats.poisson.cdf(count, mean)), abs=1e-9
    )


@given(st.floats(-8.0, 8.0))
def test_the_normal_sum_is_scipys(deviations: float) -> None:
    assert normal_below(deviations) == pytest.approx(float(stats.norm.cdf(deviations)), abs=1e-12)


@pytest.mark.parametrize(("count", "bound"), [(0, 2.996), (1, 4.744), (2, 6.296), (4, 9.154)])
def test_table_of_a_bit_error_tester(count: int, bound: float) -> None:
    # N·BER at 95 %, manual of the Agilent N4903B, table 25.
    assert poisson_upper(count) == pytest.approx(bound, abs=5e-4)


def test_what_is_no_count_has_no_bound() -> None:
    refused = pytest.raises(ValueError, match=r"no bound|no ratio")
    with refused:
        poisson_upper(-1)
    with refused:
        poisson_lower(2, 1.0)
    with refused:
        ratio_upper(3, 2)
    with refused:
        ratio_lower(0, 0)
