"""The simple guards stop before their limit, and leave a sound card alone."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.core.meaning import ReasonCode
from burnin.core.reading import NotMeasured
from burnin.core.sample import Sample, Slowdown, Telemetry
from burnin.guard.factory import make_guards
from burnin.guard.guard import Guard, Trip
from burnin.guard.liveness import LostCard, StaleData
from burnin.guard.meanings import GuardCause, GuardCheck, GuardNote, GuardReason, GuardTerm
from burnin.guard.temperature_limit import TemperatureLimit
from burnin.profile.guards import Guards


class SensorFault(ReasonCode):
    INPUT_ERROR = "test_input_error"


def sample(time_s: float, load: float = 1.0, present: bool = True, **told: object) -> Sample:
    return Sample(time_s, "", "x", Telemetry(**told), load, present=present)  # type: ignore[arg-type]


def first_trip(guards: Iterable[Guard], samples: Iterable[Sample]) -> tuple[float, Trip] | None:
    every = tuple(guards)
    for one in samples:
        for guard in every:
            trip = guard.judge(one)
            if trip is not None:
                return one.elapsed_s, trip
    return None


def course(temp_c: Callable[[float], float], seconds: float = 300.0) -> Iterator[Sample]:
    """Whole-degree temperatures at 10 Hz with a power that moves as a real one does."""
    return (
        sample(t / 10, gpu_temp_c=float(math.floor(temp_c(t / 10))), power_w=300 + math.sin(t))
        for t in range(int(seconds * 10))
    )


@given(st.floats(0.1, 5.0), st.floats(60.0, 100.0))
def test_a_steady_rise_is_stopped_before_the_limit(slope: float, limit_c: float) -> None:
    guard = TemperatureLimit(
        "gpu_temp_c", limit_c, margin_c=2.0, lag_s=1.0, latency_s=0.1, step_c=1.0
    )
    found = first_trip([guard], course(lambda t: 30.0 + slope * t, 900.0))
    assert found is not None
    time_s, trip = found
    # The die itself is ahead of its sensor by lag times slope when the load is gone.
    assert 30.0 + slope * (time_s + 1.1) < limit_c
    assert trip.limit == limit_c
    assert trip.reason.means(GuardReason.NEAR_LIMIT)
    assert trip.reason["signal"] == GuardTerm.GPU()
    assert trip.suspect == GuardCause.COOLING_OR_MOUNT()
    assert trip.check == GuardCheck.COOLING()


def test_a_sound_step_response_is_left_alone() -> None:
    guards = make_guards(Guards(gpu_temp_limit_c=90.0)).guards
    rise = course(lambda t: 35.0 + 20.0 * (1 - math.exp(-t / 2)) + 20.0 * (1 - math.exp(-t / 60)))
    assert first_trip(guards, rise) is None


def test_a_die_without_contact_is_stopped_by_its_rate() -> None:
    guards = make_guards(Guards(gpu_temp_limit_c=105.0, temp_rate_limit_c_per_s=6.0)).guards
    found = first_trip(guards, course(lambda t: 30.0 + 9.0 * t, 7.0))
    assert found is not None
    assert found[1].guard == "rate limit"


def test_a_hot_spot_far_over_the_gpu_is_stopped() -> None:
    guards = make_guards(Guards(gpu_temp_limit_c=90.0, hotspot_delta_limit_k=30.0)).guards
    rows = [
        sample(t / 10, gpu_temp_c=50.0, hotspot_temp_c=85.0, power_w=200.0 + t % 3)
        for t in range(60)
    ]
    found = first_trip(guards, rows)
    assert found is not None
    assert found[1].guard == "hot spot over GPU"


def test_a_card_that_is_gone_is_told_at_once() -> None:
    found = first_trip([LostCard()], [sample(0.0), sample(0.1, present=False)])
    assert found is not None
    assert found[0] == 0.1
    assert found[1].reason == GuardReason.CARD_GONE()


def test_an_unreadable_sensor_ends_the_load_with_its_reason() -> None:
    lost = NotMeasured(SensorFault.INPUT_ERROR())
    rows = [sample(t / 10, gpu_temp_c=50.0 if t < 20 else lost) for t in range(200)]
    found = first_trip([StaleData(5.0)], rows)
    assert found is not None
    assert found[0] == pytest.approx(7.0, abs=0.2)
    assert found[1].reason.means(GuardReason.TEMPERATURE_UNREAD)
    assert found[1].reason["because"] == SensorFault.INPUT_ERROR()


def test_a_gap_between_samples_ends_the_load() -> None:
    found = first_trip([StaleData(5.0)], [sample(0.0, gpu_temp_c=40.0), sample(6.0)])
    assert found is not None
    assert found[1].reason == GuardReason.NO_SAMPLE(gap_s=6.0, allowed_s=5.0)


def test_sensors_frozen_under_load_end_it_and_frozen_at_idle_do_not() -> None:
    def rows(load: float) -> list[Sample]:
        return [sample(t / 10, load, gpu_temp_c=50.0, power_w=200.0) for t in range(300)]

    assert first_trip([StaleData(5.0)], rows(0.0)) is None
    found = first_trip([StaleData(5.0)], rows(1.0))
    assert found is not None
    assert found[1].reason.means(GuardReason.NOTHING_MOVES)


def test_slowing_down_for_heat_ends_the_load_unless_the_profile_allows_it() -> None:
    rows = [sample(t / 10, gpu_temp_c=80.0, throttle_reasons=(Slowdown.HEAT,)) for t in range(5)]
    strict = make_guards(Guards(gpu_temp_limit_c=95.0)).guards
    lenient = make_guards(Guards(gpu_temp_limit_c=95.0, stop_on_heat_throttle=False)).guards
    found = first_trip(strict, rows)
    assert found is not None
    assert found[1].reason == GuardReason.SLOWED_FOR_HEAT_AT(gpu_temp_c=80.0)
    assert first_trip(lenient, rows) is None


def test_the_expectation_names_the_time_to_the_limit() -> None:
    guard = TemperatureLimit(
        "gpu_temp_c", 90.0, margin_c=2.0, lag_s=1.0, latency_s=0.1, step_c=1.0
    )
    for one in course(lambda t: 30.0 + 0.5 * t, 40.0):
        guard.judge(one)
    expected = guard.expectation()
    assert expected is not None
    assert expected.crossing_in_s == pytest.approx((88 - 50) / 0.5, abs=4)
    assert expected.forecast.means(GuardNote.NEARING)
    assert expected.forecast["crossing_in_s"] == expected.crossing_in_s
