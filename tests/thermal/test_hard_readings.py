"""Sensors as they are: late power, two sensors that differ, loads that began before the record."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from burnin.guard.forecast_guard import ForecastGuard
from burnin.guard.guard import Trip
from burnin.thermal.heat_network import MOUNT
from burnin.thermal.hotspot import HotSpot
from burnin.thermal.inputs import Limits, Row, Setup, plan_of
from burnin.thermal.recent_rows import Recent
from burnin.thermal.starting_state import settled
from burnin.thermal.states import HEALTHY
from tests.thermal.cards import BARE_SPOT, LOOP_LIKE, LOOSE, OneBlock

SOUND = replace(LOOP_LIKE, hotspot_k_per_w=0.03)
STEPS = ((5.0, 380.0), (40.0, 250.0), (60.0, 450.0))


def late(rows: Iterable[Row], mean_s: float) -> Iterator[Row]:
    """The same rows, their power the trailing mean of so long (an exponential one)."""
    power_w = 0.0
    for row in rows:
        power_w += (row.power_w - power_w) * (1.0 - math.exp(-0.1 / mean_s))
        yield replace(row, power_w=round(power_w, 1))


def held(rows: Iterable[Row], for_s: float) -> Iterator[Row]:
    """The same rows, their temperatures read anew only every `for_s`."""
    kept: Row | None = None
    for row in rows:
        if kept is None or row.time_s - kept.time_s >= for_s - 1e-9:
            kept = row
        yield replace(row, die_c=kept.die_c, hotspot_c=kept.hotspot_c)


def from_second(rows: Iterable[Row], begin_s: float) -> Iterator[Row]:
    """What a record shows that was begun so late."""
    return (replace(r, time_s=r.time_s - begin_s) for r in rows if r.time_s >= begin_s)


def judge(rows: Iterable[Row], steps: tuple[tuple[float, float], ...] = STEPS) -> Trip | None:
    guard = ForecastGuard(Setup(Limits(90.0, 105.0), plan_of(steps), 24.0, False))
    return next((t for row in rows if (t := guard.see(row)) is not None), None)


@pytest.mark.parametrize("mean_s", [0.3, 1.0])
@pytest.mark.parametrize("for_s", [0.1, 1.0])
def test_a_sound_card_whose_power_or_heat_is_read_late_is_let_alone(
    mean_s: float, for_s: float
) -> None:
    assert judge(held(late(SOUND.rows(STEPS, 100.0), mean_s), for_s)) is None


@pytest.mark.long
@pytest.mark.parametrize("card", [LOOSE, BARE_SPOT])
def test_a_faulty_card_so_read_is_still_stopped_in_time(card: OneBlock) -> None:
    steps = ((5.0, 150.0), (40.0, 250.0), (60.0, 450.0))
    spot = card.hotspot_k_per_w
    seen = list(late(card.rows(steps, 100.0), 1.0))
    stop_s = next(
        row.time_s for n, row in enumerate(seen, start=1) if judge(seen[:n], steps) is not None
    ) if judge(seen, steps) is not None else math.inf  # fmt: skip
    hot = replace(card, mount_k_per_w=card.mount_k_per_w + (spot or 0.0))
    limit_c = 90.0 if spot is None else 105.0
    assert stop_s + 1.0 < hot.crossing_s(steps, limit_c)


def test_two_sensors_that_differ_at_idle_are_no_missing_paste() -> None:
    spot = HotSpot(15.0)
    for _ in range(60):
        spot.add(1.0, 15.0, 2.6, 1.5, 27.0)
    assert spot.bare_probability < 0.4
    for _ in range(60):
        spot.add(1.0, 300.0, 2.6 + 300.0 * 0.025, 1.5, 55.0)
    assert spot.bare_probability < 0.05
    middle, low, high = spot.interval()
    assert low < 0.025 < high
    assert middle == pytest.approx(0.025, rel=0.3)


@pytest.mark.parametrize(
    ("first_w", "moved_k", "expected"),
    [
        (20.0, 0.0, (20.0, 0.0)),  # it idled
        (300.0, 12.0, (18.0, 0.0)),  # it idled until that moment
        (300.0, 0.0, (300.0, 30.0)),  # it was loaded all along
        (80.0, 1.0, (40.0, 32.0)),  # nobody can tell
    ],
)
def test_the_first_seconds_tell_since_when_a_card_is_loaded(
    first_w: float, moved_k: float, expected: tuple[float, float]
) -> None:
    found = settled(Row(0.0, first_w, 50.0), Row(2.0, first_w, 50.0 + moved_k))
    assert found == pytest.approx(expected)


@pytest.mark.parametrize("begin_s", [8.0, 15.0, 35.0])
def test_a_sound_card_whose_record_begins_under_load_is_let_alone(begin_s: float) -> None:
    steps = tuple((max(0.0, s - begin_s), w) for s, w in STEPS)
    plan = tuple((s, w) for n, (s, w) in enumerate(steps) if n == 2 or steps[n + 1][0] > 0.0)
    guard = ForecastGuard(Setup(Limits(90.0, 105.0), plan_of(plan), 24.0, False))
    for row in from_second(SOUND.rows(STEPS, 100.0), begin_s):
        assert guard.see(row) is None
    bank = guard.watch.bank
    assert bank is not None
    best = int(bank.weights().argmax())
    assert bank.hypotheses[best].state in HEALTHY
    assert math.exp(float(bank.x[best, MOUNT])) == pytest.approx(0.06, rel=0.25)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(0.02, 2.0), st.floats(0.0, 500.0), st.integers(10, 110)),
    min_size=1, max_size=30))  # fmt: skip
def test_how_fast_and_how_late_are_never_below_nothing(
    rows: list[tuple[float, float, int]],
) -> None:
    recent, counted, now_s = Recent(1.0), Recent(1.0), 0.0
    for dt_s, power_w, die_c in rows:
        now_s += dt_s
        recent.take(Row(now_s, power_w, float(die_c)))
        counted.take(Row(now_s, power_w, float(die_c), energy_j=now_s))
        assert recent.rate_k_per_s() >= 0.0
        assert recent.late_w() >= 0.0
        assert (counted.rate_k_per_s(), counted.late_w()) == (0.0, 0.0)
