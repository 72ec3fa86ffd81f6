"""The oracle of readings on runs whose outcome arithmetic tells, and on drawn ones."""

from __future__ import annotations

import numpy as np
import pytest

from tests.evaluation.readings_oracle import Outcome, Read, frontier, outcome, read_of, told
from tests.evaluation.score import Share
from tests.others.thermal.drawn import scenario


def rising(
    to_left_k: float, *, sound: bool = False, crossing_s: float | None = None,
    onset_s: float | None = 10.0,
) -> Read:
    """Falls evenly over 100 s from 50 K under its limit to so many."""
    time_s = np.arange(0.0, 100.5, 0.5)
    nears_k = np.linspace(50.0, to_left_k, len(time_s))
    onset = None if sound else onset_s
    return Read(time_s, nears_k, sound, onset, crossing_s, 0.0, 0.5, 0.0, broken=False)


def test_it_stops_before_the_first_reading_within_its_margin() -> None:
    run = rising(0.0)  # half a kelvin a second
    assert run.stop_s(10.0, 5.0) == pytest.approx(80.0 - 5.0)
    assert run.stop_s(0.0, 0.0) == pytest.approx(100.0)
    assert run.stop_s(50.0, 5.0) == 0.0
    assert rising(4.0).stop_s(3.9, 5.0) is None
    assert rising(-5.0).stop_s(-2.0, 0.0) is not None


def test_each_run_is_counted_where_it_belongs() -> None:
    runs = [
        rising(-5.0, crossing_s=95.0),  # reads its limit at 91 s, 4 s before the truth crosses
        rising(2.0, crossing_s=90.0),  # a sensor that reads too little: never seen to cross
        rising(2.5), rising(8.0),  # faulty, not to cross
        rising(1.0, sound=True), rising(20.0, sound=True),
    ]  # fmt: skip
    at_limit, early = outcome(runs, 0.0, 2.0), outcome(runs, 3.0, 10.0)
    assert (at_limit.missed, at_limit.sound, at_limit.needless) == (
        Share(1, 2), Share(0, 2), Share(0, 2),
    )  # fmt: skip
    assert (early.missed, early.sound, early.needless) == (Share(0, 2), Share(1, 2), Share(1, 2))
    assert early.before == Share(0, 4)
    assert outcome(runs, 49.0, 10.0).before == Share(4, 4)


def test_a_stop_behind_the_crossing_is_a_miss() -> None:
    assert outcome([rising(-5.0, crossing_s=80.0)], 0.0, 2.0).missed == Share(1, 1)
    assert outcome([rising(-5.0, crossing_s=80.0)], 0.0, 20.0).missed == Share(0, 1)


def test_what_another_beats_is_not_on_the_frontier() -> None:
    def costing(missed: int, sound: int) -> Outcome:
        none = Share(0, 100)
        return Outcome(0.0, 1.0, Share(missed, 100), Share(sound, 100), none, none)

    few, fewer, worse = costing(5, 1), costing(1, 5), costing(5, 2)
    assert frontier([few, fewer, worse]) == [few, fewer]
    assert costing(1, 0).meets_all
    assert not costing(1, 1).meets_all
    assert not costing(2, 0).meets_of_faulty


def test_of_drawn_scenarios_a_larger_margin_misses_no_more_and_stops_no_fewer() -> None:
    drawn = [scenario(seed) for seed in range(12)]
    runs = [read_of(one) for one in drawn]
    for one, run in zip(drawn, runs, strict=True):
        assert (run.stop_s(-1e-9, 0.0) is not None) == (one.truth.reading_crossing_s is not None)
        if one.truth.reading_crossing_s is not None:
            assert run.stop_s(-1e-9, 0.0) == pytest.approx(one.truth.reading_crossing_s)
    found = [outcome(runs, margin_k, 2.0) for margin_k in (-3.0, 0.0, 3.0, 6.0)]
    missed = [one.missed.hits for one in found]
    assert missed == sorted(missed, reverse=True)
    for stopped in ([o.sound.hits for o in found], [o.needless.hits for o in found]):
        assert stopped == sorted(stopped)
    assert any("settings" in line for line in told(runs))
