"""The power that heats the card, told from a counter that comes late and a reading that aliases."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from burnin.thermal.power_meter import PowerMeter


def counter_j(time_s: float, on_w: float, off_w: float, share: float, period_s: float) -> float:
    """Energy of a load switched on for `share` of each period, as a counter of 100 ms shows it."""
    shown_s = math.floor(time_s / 0.1 + 1e-9) * 0.1
    whole, part = divmod(shown_s, period_s)
    on_s = whole * share * period_s + min(part, share * period_s)
    return on_w * on_s + off_w * (shown_s - on_s)


def test_held_power_passes_as_it_is_read() -> None:
    meter = PowerMeter()
    for k in range(100):
        watts = 300.0 + (3.0 if k % 2 else -3.0)
        power = meter.take(0.1 * k, watts)
        assert power.mean_w == power.level_w == watts
        assert power.swing_w == 0.0


@pytest.mark.parametrize("row_s", [0.03, 0.107, 0.35])
def test_a_counter_gives_the_mean_of_a_power_whose_reading_only_ever_meets_its_peaks(
    row_s: float,
) -> None:
    meter = PowerMeter()
    energy_j, steady = 0.0, []
    for k in range(round(20.0 / row_s)):
        now = k * row_s
        power = meter.take(now, 780.0, counter_j(now, 780.0, 120.0, 0.25, 0.02))
        if k:
            energy_j += power.mean_w * row_s
        if now > 5.0:
            steady.append(power.level_w)
    mean_w = 120.0 + 0.25 * 660.0
    assert energy_j == pytest.approx(mean_w * 20.0, rel=0.03)
    assert min(steady) == pytest.approx(mean_w, rel=0.12)
    assert max(steady) == pytest.approx(mean_w, rel=0.12)
    assert power.swing_w > 250.0


def test_a_step_of_power_shows_within_a_second() -> None:
    meter = PowerMeter()
    for k in range(100):
        now = 0.1 * k
        watts = 120.0 if now < 5.0 else 600.0
        power = meter.take(now, watts, 120.0 * min(now, 5.0) + 600.0 * max(0.0, now - 5.0))
        if now < 5.0:
            assert power.level_w == pytest.approx(120.0, abs=1.0)
        if now > 6.5:
            assert power.level_w == pytest.approx(600.0, rel=0.06)


def test_a_counter_that_stands_still_is_not_believed() -> None:
    meter = PowerMeter()
    for k in range(200):
        power = meter.take(0.1 * k, 400.0, 5000.0)
    assert power.mean_w == pytest.approx(400.0)


def test_a_counter_that_begins_anew_does_not_make_power_from_nothing() -> None:
    meter = PowerMeter()
    for k in range(200):
        now = 0.1 * k
        start_j = 90_000.0 if now < 10.0 else -2980.0
        power = meter.take(now, 300.0, start_j + 300.0 * now)
        assert power.mean_w == pytest.approx(300.0, rel=0.6)
    assert power.level_w == pytest.approx(300.0, rel=0.05)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.floats(0.01, 5.0), st.floats(0.0, 900.0), st.one_of(st.none(), st.floats(0.0, 1e6))
        ),
        max_size=60,
    )
)
def test_whatever_is_read_power_is_finite_and_never_negative(
    rows: list[tuple[float, float, float | None]],
) -> None:
    meter, now = PowerMeter(), 0.0
    for dt, watts, energy_j in rows:
        now += dt
        power = meter.take(now, watts, energy_j)
        for value in (power.mean_w, power.level_w, power.swing_w):
            assert math.isfinite(value)
            assert value >= 0.0
