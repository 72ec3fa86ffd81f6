"""The evaluation's own parts, and a sample of it; the whole is one command (see its module)."""

from __future__ import annotations

import pytest

from tests.evaluation.isolation import Scored, calibration_error, scored, summary
from tests.evaluation.link_scenarios import draw_case


def made(probability: float, place: int | None) -> Scored:
    from random import Random

    return Scored(1, True, place, probability, False, draw_case(Random(1)))


def test_calibration_error_of_known_cases() -> None:
    # Two bins: said 0.85 and right 3 of 4, said 0.25 and right 1 of 2.
    cases = [made(0.85, 0)] * 3 + [made(0.85, 1)] + [made(0.25, 0), made(0.25, None)]
    assert calibration_error(cases) == pytest.approx((4 * 0.10 + 2 * 0.25) / 6)


@pytest.mark.parametrize(
    ("scenarios", "tellable"), [(8, 2), pytest.param(60, 15, marks=pytest.mark.long)]
)
def test_a_sample_of_the_evaluation_holds_its_bounds(scenarios: int, tellable: int) -> None:
    cases = list(scored(scenarios, 5))
    scores = summary(cases)
    assert scores["tellable"] >= tellable
    assert scores["top_1"] >= 0.80
    assert scores["top_3"] >= 0.95
    assert scores["healthy_called_healthy"] >= 0.99


def test_the_same_seed_gives_the_same_scores() -> None:
    assert summary(list(scored(2, 2))) == summary(list(scored(2, 2)))
