"""What readings say of a limit that is near, in numbers worked out by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.core.sample import Sample, Telemetry
from burnin.guard.guard import Trip
from burnin.guard.pace import Pace, PowerStep
from burnin.guard.temperature_limit import TemperatureLimit
from burnin.guard.trend import Trend


def paced(slope_k_per_s: float, to_c: float, limit_c: float = 80.0) -> float:
    """Seconds to the limit after 20 s of an even rise that ends at `to_c`."""
    pace = Pace(limit_c, 0.0)
    for n in range(201):
        pace.see(0.1 * n, to_c + slope_k_per_s * (0.1 * n - 20.0))
    return pace.reaches_in_s()


@pytest.mark.parametrize(
    ("slope_k_per_s", "to_c", "in_s"),
    [(1.0, 70.0, 10.0), (0.1, 79.0, 10.0), (5.0, 60.0, 4.0), (0.5, 80.5, 0.0)],
)
def test_an_even_rise_reaches_its_limit_when_arithmetic_says(
    slope_k_per_s: float, to_c: float, in_s: float
) -> None:
    assert paced(slope_k_per_s, to_c) == pytest.approx(in_s, abs=0.01)


@given(st.floats(-3.0, 0.0), st.floats(20.0, 79.0))
def test_what_stands_or_falls_nears_nothing(slope_k_per_s: float, to_c: float) -> None:
    assert paced(min(slope_k_per_s, 0.0), to_c) > 1e6


def test_half_a_step_is_counted_and_how_whole_degrees_scatter() -> None:
    """A limit of 80 °C is read from 79.5 on; values spread over a degree lie sd 0.29 K about it."""

    def stands_at(temp_c: float) -> float:
        pace = Pace(80.0, 1.0)
        for n in range(400):
            pace.see(0.05 * n, temp_c)
        return pace.reaches_in_s()

    assert stands_at(79.5 - 0.28) == 0.0
    assert math.isinf(stands_at(79.5 - 0.30))


def test_a_rise_in_whole_degrees_is_followed_within_two_seconds() -> None:
    pace = Pace(80.0, 1.0)
    for n in range(400):
        pace.see(0.05 * n, float(round(50.0 + 0.05 * n)))
    assert 7.0 < pace.reaches_in_s() < 9.5


def test_a_reading_that_scatters_is_nearer_its_limit_than_its_mean() -> None:
    rng = np.random.default_rng(3)
    pace, calm = Pace(80.0, 0.0), Pace(80.0, 0.0)
    for n in range(400):
        pace.see(0.05 * n, 60.0 + 0.05 * n * 0.5 + float(rng.normal()))
        calm.see(0.05 * n, 60.0 + 0.05 * n * 0.5)
    assert pace.reaches_in_s() < calm.reaches_in_s() - 1.0


def test_too_few_readings_say_nothing() -> None:
    pace = Pace(80.0, 1.0)
    for n in range(5):
        pace.see(0.1 * n, 70.0 + 5.0 * n)
    assert math.isinf(pace.reaches_in_s())


def test_the_line_is_that_of_least_squares() -> None:
    rng = np.random.default_rng(11)
    trend = Trend(6.0)
    time_s, value = 0.1 * np.arange(300), 50.0 + rng.normal(size=300).cumsum() * 0.1
    for now, one in zip(time_s.tolist(), value.tolist(), strict=True):
        trend.add(now, one)
    line = trend.line()
    assert line is not None
    inside = time_s[-1] - time_s <= 6.0
    slope, at_end = np.polyfit(time_s[inside] - time_s[-1], value[inside], 1)
    left = value[inside] - at_end - slope * (time_s[inside] - time_s[-1])
    assert line.value == pytest.approx(at_end, abs=1e-6)
    assert line.slope_per_s == pytest.approx(slope, abs=1e-6)
    assert line.scatter == pytest.approx(left.std(), abs=1e-6)


def stepped_at(power_w: list[float], period_s: float = 0.1) -> list[bool]:
    step, found = PowerStep(2.0, 0.3), []
    for n, watts in enumerate(power_w):
        step.see(period_s * n, watts)
        found.append(step.stepped())
    return found


def test_a_step_of_power_is_young_for_so_long() -> None:
    found = stepped_at([100.0] * 50 + [300.0] * 50)
    assert not any(found[:50])
    assert all(found[51:69])
    assert not any(found[76:])


def test_the_noise_of_a_held_power_is_no_step() -> None:
    rng = np.random.default_rng(5)
    assert not any(stepped_at((300.0 + 8.0 * rng.normal(size=400)).tolist()))


def test_a_fall_of_power_is_no_step() -> None:
    assert not any(stepped_at([300.0] * 50 + [100.0] * 50))


def test_a_step_to_come_is_measured_from_the_power_of_now() -> None:
    step = PowerStep(2.0, 0.3)
    assert not step.would_be(300.0)
    step.see(0.0, 200.0)
    assert step.would_be(300.0)
    assert not step.would_be(210.0)
    assert not step.would_be(50.0)


def limited(power_w: list[float], temp_c: float) -> Trip | None:
    """A die that stands at `temp_c` under such powers, ten a second, limit 80 °C."""
    guard = TemperatureLimit("gpu_temp_c", 80.0, margin_c=0.5, lag_s=1.0, latency_s=0.1, step_c=1.0)
    calm = Telemetry(gpu_temp_c=temp_c)
    samples = (
        Sample(0.1 * n, "", "x", replace(calm, power_w=watts), 1.0)
        for n, watts in enumerate(power_w)
    )
    return next((trip for one in samples if (trip := guard.judge(one)) is not None), None)


def test_a_card_that_stands_two_degrees_below_its_limit_is_let_alone() -> None:
    assert limited([300.0] * 600, 78.0) is None
    assert limited([300.0] * 600, 79.0) is not None


def test_while_a_step_is_young_a_degree_more_is_kept_free() -> None:
    trip = limited([100.0] * 50 + [300.0] * 5, 78.0)
    assert trip is not None
    assert trip.reason["margin_k"] == 1.5
    assert limited([100.0] * 50 + [300.0] * 5, 77.0) is None
