"""Forecasts on records of a real data-centre card, against what was then read.

Errors are 90th percentiles of |forecast - reading|, the power that came being known. Measured:

| record | 10 s, K | 30 s, K |
| --- | --- | --- |
| held_power/ramp_*.csv, singly | 1.0 to 2.0 | 1.2 to 1.7 |
| held_power/rested_*.csv, which no prior was set by, singly | 1.6 to 2.1 | 2.1 to 2.8 |
| the same three together | 1.9 | 2.4 |
| records/compute_card_link_errors, its thermal ramp | 1.8 | 2.5 |
| held_power/warm_400_220_520.csv, begun while still warm, in a weak stream | 3.3 | 4.8 |
| load_steps.csv | 4.9 | 5.3 |

In `load_steps.csv` an open-loop duty switches the load, so that power and die temperature both
alias (readings lie up to 5 K from each other within a second): the best fit with hindsight leaves
2.0 K there. Its bounds below only hold what is reached.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from tests.evaluation.recorded import assess

CUDA = "records/compute_card_link_errors/samples.csv"
RAMP_S = (63.0, 248.0)
ALL_S = (-math.inf, math.inf)
LIMIT_C = 83.0
"""The passive card's profile: 85 °C less its margin."""
HELD = [
    ("held_power/ramp_200_450.csv", ALL_S),
    ("held_power/ramp_300_600.csv", ALL_S),
    ("held_power/rested_330_560.csv", ALL_S),
    (CUDA, RAMP_S),
]
UNSEEN = [
    f"held_power/rested_{steps}.csv" for steps in ("230_470", "330_560", "170_340_510_300")
]


@pytest.mark.parametrize(("name", "span_s"), HELD)
def test_the_next_half_minute_is_foreseen_and_nothing_is_stopped(
    data: Path, name: str, span_s: tuple[float, float]
) -> None:
    errors = assess(data / name, None, "stream", LIMIT_C, span_s)
    assert len(errors.off_k[30.0]) >= 60
    assert errors.ninth(10.0) < 2.0
    assert errors.ninth(30.0) < 3.0
    assert errors.stop is None
    assert errors.state[0] == "healthy air"


def test_three_ramps_that_no_prior_was_set_by_are_foreseen(data: Path) -> None:
    errors = [assess(data / name, None, "stream", LIMIT_C) for name in UNSEEN]
    assert all(e.stop is None for e in errors)
    for ahead_s, bound_k in ((10.0, 2.0), (30.0, 3.0)):
        every = np.concatenate([e.off_k[ahead_s] for e in errors])
        assert np.percentile(np.abs(every), 90) < bound_k
        assert all(e.ninth(ahead_s) < 1.1 * bound_k for e in errors)


def test_a_ramp_begun_while_the_card_is_warm_stops_nothing_either(data: Path) -> None:
    errors = assess(data / "held_power/warm_400_220_520.csv", None, "stream", LIMIT_C)
    assert errors.stop is None
    assert errors.state[0] == "healthy air"


@pytest.mark.long
def test_aliased_steps_are_foreseen_less_well_and_stop_nothing(data: Path) -> None:
    errors = assess(data / "load_steps.csv", None, "stream", LIMIT_C)
    assert errors.ninth(10.0) < 5.5
    assert errors.ninth(30.0) < 6.0
    assert errors.stop is None
    assert errors.state[0] == "healthy air"


@pytest.mark.long
@pytest.mark.parametrize("name", ["load_steps.csv", CUDA])
def test_a_card_of_unknown_cooling_is_not_stopped_either(data: Path, name: str) -> None:
    assert assess(data / name, None, None, LIMIT_C).stop is None


@pytest.mark.long
@pytest.mark.parametrize(
    ("name", "limit_c"),
    [
        ("load_steps.csv", 60.0),
        ("load_steps.csv", 68.0),
        (CUDA, 60.0),
        (CUDA, 70.0),
        ("held_power/ramp_200_450.csv", 50.0),
        ("held_power/ramp_200_450.csv", 54.0),
        ("held_power/ramp_150_380_250_550.csv", 60.0),
        ("held_power/ramp_300_600.csv", 50.0),
        ("held_power/ramp_300_600.csv", 60.0),
        ("held_power/ramp_300_600.csv", 64.0),
    ],
)
def test_a_limit_below_what_the_plan_reaches_is_never_crossed(
    data: Path, name: str, limit_c: float
) -> None:
    errors = assess(data / name, None, "stream", limit_c)
    assert math.isfinite(errors.crossing_s)
    assert errors.stop is not None
    assert errors.stop[0] + 0.3 < errors.crossing_s
