"""Survival, charts and corrections beside independent libraries and published tables."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy.stats import false_discovery_control
from statsmodels.datasets import heart
from statsmodels.duration.survfunc import SurvfuncRight, survdiff

from burnin.history.statistics import control_chart
from burnin.history.statistics.control_chart import (
    LIMIT,
    REFERENCE,
    RUN_LENGTH,
    average_run_length,
    chance_of_reaching,
    course,
)
from burnin.history.statistics.robust import centre_and_width, normal_scores, without_season
from burnin.history.statistics.several_tests import corrected, is_claim
from burnin.history.statistics.survival import kaplan_meier, log_rank

HEART = heart.load_pandas().data
"""Survival after heart transplants (Miller 1976), as a package of statistics carries it: days, 1
for an event and 0 for censored, age."""


def test_survival_is_that_of_another_library_on_a_known_data_set() -> None:
    theirs = SurvfuncRight(HEART.survival, HEART.censors)
    ours = kaplan_meier(HEART.survival.tolist(), (HEART.censors == 1).tolist())
    assert list(ours.days) == theirs.surv_times.tolist()
    assert list(ours.at_risk) == theirs.n_risk.tolist()
    assert [s.value for s in ours.back] == pytest.approx((1.0 - theirs.surv_prob).tolist())
    for share, stays, error in zip(ours.back, theirs.surv_prob, theirs.surv_prob_se, strict=True):
        # The interval on the scale of log(-log S), from their standard error of S.
        away = 1.959964 * error / (stays * abs(math.log(stays)))
        assert share.low == pytest.approx(1.0 - stays ** math.exp(-away), rel=1e-5)
        assert share.high == pytest.approx(1.0 - stays ** math.exp(away), rel=1e-5)


@pytest.mark.parametrize("edges", [(45,), (40, 50), (35, 42, 48, 52)])
def test_log_rank_is_that_of_another_library(edges: tuple[int, ...]) -> None:
    groups = np.digitize(HEART.age, edges)
    _, p = survdiff(HEART.survival, HEART.censors, groups)
    ours = log_rank(HEART.survival.tolist(), (HEART.censors == 1).tolist(), groups.tolist())
    assert ours.p == pytest.approx(p, rel=1e-9)
    assert sum(ours.seen) == pytest.approx(sum(ours.expected)) == HEART.censors.sum()


def test_survival_by_hand() -> None:
    """Four cards: back after 10 and 30 days, watched for 20 and 40: 1/4, then 1 - 3/4 · 1/2."""
    curve = kaplan_meier([10.0, 20.0, 30.0, 40.0], [True, False, True, False])
    assert [s.value for s in curve.back] == pytest.approx([0.25, 0.625])
    assert (curve.by(9.9).value, curve.by(10.0).value, curve.by(99.0).value) == (0.0, 0.25, 0.625)
    assert 0.5 < curve.by(5.0).high < 1.0  # of four, none back yet: little is known
    assert kaplan_meier([], []).by(90.0).high == 1.0
    every = kaplan_meier([1.0, 2.0], [True, True])
    assert every.back[-1].value == every.back[-1].high == 1.0 > every.back[-1].low
    assert log_rank([1.0, 2.0], [False, False], ["a", "b"]).p == 1.0
    assert log_rank([1.0, 2.0], [True, True], ["a", "a"]).p == 1.0


NIST_RUN_LENGTHS = {
    4.0: ((0.25, 74.2), (0.5, 26.6), (0.75, 13.3), (1.0, 8.38), (1.5, 4.75), (2.0, 3.34),
          (2.5, 2.62), (3.0, 2.19), (4.0, 1.71), (0.0, 168.0)),
    5.0: ((0.25, 139.0), (0.5, 38.0), (0.75, 17.0), (1.0, 10.4), (1.5, 5.75), (2.0, 4.01),
          (2.5, 3.11), (3.0, 2.57), (4.0, 2.01), (0.0, 465.0)),
}  # fmt: skip
"""Average run lengths of the two-sided chart with k = 0.5, by limit and shift: NIST/SEMATECH
e-Handbook of Statistical Methods, 6.3.2.3 (and Montgomery, Introduction to Statistical Quality
Control); typed from memory."""


@pytest.mark.parametrize("limit", NIST_RUN_LENGTHS)
def test_run_lengths_are_those_of_the_handbook(limit: float) -> None:
    for shift, length in NIST_RUN_LENGTHS[limit]:
        assert average_run_length(0.5, limit, shift) == pytest.approx(length, rel=0.006), shift


def test_the_charts_limit_gives_the_run_length_that_it_states() -> None:
    assert average_run_length(REFERENCE, LIMIT) == pytest.approx(RUN_LENGTH, rel=0.002)


def test_chance_reaches_a_peak_as_often_as_is_told() -> None:
    """2,000 charts of 60 values that nothing moves, a fixed seed; both sides are counted apart, so
    that what is told is never less."""
    draws = np.random.default_rng(9).standard_normal((2000, 60))
    peaks = np.array([course(row.tolist()).peak for row in draws])
    for peak in (4.0, 6.0, 8.0):
        seen = float(np.mean(peaks >= peak))
        told = chance_of_reaching(peak, 60)
        assert seen <= told + 3.0 * math.sqrt(told / 2000), peak
        assert told < 1.3 * seen + 0.01, peak
    assert chance_of_reaching(0.0, 60) == 1.0


def test_a_chart_finds_since_when_values_shifted() -> None:
    values = [0.0] * 10 + [-1.0] * 8
    found = course(values)
    assert (found.side, found.since, found.at) == (-1, 10, 17)
    assert found.peak == pytest.approx(8 * (1.0 - REFERENCE))
    assert len(found.sums) == 18
    assert control_chart.course([]).peak == 0.0


def test_the_correction_is_that_of_another_library() -> None:
    p_values = [0.001, 0.02, 0.03, 0.5, 0.04, 0.9, 0.001]
    theirs = false_discovery_control(p_values).tolist()
    assert list(corrected(p_values)) == pytest.approx(theirs)
    mixed = corrected([None, 0.04, None, 0.01])
    assert [q is None for q in mixed] == [True, False, True, False]
    assert [q for q in mixed if q is not None] == pytest.approx([0.04, 0.02])
    assert [is_claim(q) for q in (None, 0.05, 0.051)] == [False, True, False]


def test_centre_and_width_are_not_moved_by_a_few() -> None:
    draws = np.random.default_rng(2).normal(50.0, 3.0, 2000)
    draws[:100] = 1e6
    centre, width = centre_and_width(draws.tolist())
    assert centre == pytest.approx(50.0, abs=0.4)
    assert width == pytest.approx(3.0, rel=0.1)


def test_scores_are_normal_whatever_the_values_are() -> None:
    scores = normal_scores([float(2**n) for n in range(40)])
    assert scores.mean() == pytest.approx(0.0, abs=1e-9)
    assert all(a < b for a, b in itertools.pairwise(scores))
    years = [n / 50.0 for n in range(100)]
    rest = without_season(np.sin(2.0 * np.pi * np.array(years)), years)
    assert abs(float(np.corrcoef(rest, np.sin(2.0 * np.pi * np.array(years)))[0, 1])) < 0.2
    assert without_season(scores[:5], years[:5]) is not None
