"""Curves in few points: whatever the length, no peak is lost and no point is invented."""

from __future__ import annotations

import random

import pytest

from burnin.page.curves import Curves


@pytest.mark.parametrize("count", [10, 1000, 20_000])
def test_every_peak_and_trough_stays_in_its_span(count: int) -> None:
    draw = random.Random(7)
    curves = Curves(("a", "b"), most=60)
    points = [(n * 0.1, draw.gauss(50.0, 1.0)) for n in range(count)]
    points[count // 3] = (points[count // 3][0], 999.0)
    points[count // 2] = (points[count // 2][0], -999.0)
    for at_s, value in points:
        curves.add(at_s, [value, None])
    assert len(curves.spans) <= 60
    for at_s, value in points:
        span = curves.spans[int(at_s // curves.width_s)]
        low, high = span.low[0], span.high[0]
        assert low is not None
        assert high is not None
        assert low <= value <= high
    assert max(s.high[0] or 0.0 for s in curves.spans.values()) == 999.0
    assert min(s.low[0] or 0.0 for s in curves.spans.values()) == -999.0
    assert all(s.low[1] is None for s in curves.spans.values())


def test_a_run_that_is_gone_on_with_days_later_stays_small() -> None:
    curves = Curves(("a",), most=60)
    for at_s in (0.0, 1.0, 400_000.0, 400_001.0):
        curves.add(at_s, [at_s])
    assert len(curves.spans) <= 4
    assert max(curves.spans) - min(curves.spans) < 60


def test_only_what_changed_is_told_again() -> None:
    curves = Curves(("a",))
    for n in range(100):
        curves.add(float(n), [float(n)])
    before = curves.revision
    assert curves.since(before)["at"] == []
    curves.add(99.1, [7.0])
    told = curves.since(before)
    assert (told["low"], told["high"]) == ([[7.0]], [[99.0]])


def test_what_is_no_number_is_a_gap() -> None:
    curves = Curves(("a",))
    curves.add(0.0, [float("nan")])
    curves.add(float("inf"), [1.0])
    curves.add(1.0, [float("inf")])
    assert all(span.low == [None] for span in curves.spans.values())
