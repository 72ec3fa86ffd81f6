"""How far below its limit a temperature ends the load, in numbers worked out by hand.

Law 4: what counts is the temperature that the sensor would tell once the load is really gone. A
sensor that lags by 1 s and a stop that takes 0.5 s let a rise of 2 K/s go on for 3 K; a sensor of
whole degrees may have told half a kelvin too little.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import pytest

from burnin.core.reading import known
from burnin.core.sample import Resolution, Sample, Telemetry
from burnin.guard.factory import GuardFacts, make_guards
from burnin.guard.guard_set import GuardSet
from burnin.guard.temperature_limit import TemperatureLimit
from burnin.profile.guards import Guards

RISE_K_PER_S, PERIOD_S, LIMIT_C = 2.0, 0.05, 80.0


def rising(signal: str, from_c: float = 40.0) -> Iterable[Sample]:
    """Every 50 ms a tenth of a kelvin more, beside a power that moves."""
    for n in range(2000):
        calm = Telemetry(gpu_temp_c=40.0 + 0.001 * n, power_w=300.0 + n % 7)
        told = replace(calm, **{signal: from_c + RISE_K_PER_S * PERIOD_S * n})  # type: ignore[arg-type]
        yield Sample(n * PERIOD_S, "", "x", told, 1.0)


def stopped_at_c(guards: GuardSet | TemperatureLimit, signal: str) -> float:
    """The first value that ends the load."""
    for sample in rising(signal):
        trip = guards.judge(sample)
        if trip is not None:
            assert (trip.signal, trip.limit) == (signal, LIMIT_C)
            value = known(getattr(sample.telemetry, signal))
            assert isinstance(value, float)
            return value
    raise AssertionError("the load was never ended")


@pytest.mark.parametrize(
    ("lag_s", "latency_s", "step_c", "margin_c", "stops_c"),
    [
        (0.0, 0.0, 0.0, 0.0, 80.0),
        (1.0, 0.0, 0.0, 0.0, 78.0),
        (0.0, 0.5, 0.0, 0.0, 79.0),
        (0.0, 0.0, 1.0, 0.0, 79.5),
        (0.0, 0.0, 0.0, 2.0, 78.0),
        (1.0, 0.5, 1.0, 2.0, 74.5),
    ],
)
def test_each_part_of_the_margin_counts_by_itself(
    lag_s: float, latency_s: float, step_c: float, margin_c: float, stops_c: float
) -> None:
    guard = TemperatureLimit(
        "gpu_temp_c", LIMIT_C, margin_c=margin_c, lag_s=lag_s, latency_s=latency_s, step_c=step_c
    )
    assert stopped_at_c(guard, "gpu_temp_c") == pytest.approx(stops_c, abs=0.11)


@pytest.mark.parametrize(("stepped_at_s", "stops_c"), [(18.5, 79.0), (10.0, 80.0)])
def test_a_step_of_power_keeps_one_kelvin_more_free_while_it_is_young(
    stepped_at_s: float, stops_c: float
) -> None:
    """80 °C are reached at 20 s; whole degrees may leap past a limit just after a step."""
    guard = TemperatureLimit(
        "gpu_temp_c", LIMIT_C, margin_c=0.0, lag_s=0.0, latency_s=0.0, step_c=0.0
    )
    for sample in rising("gpu_temp_c"):
        power_w = 120.0 if sample.elapsed_s < stepped_at_s else 320.0
        trip = guard.judge(replace(sample, telemetry=replace(sample.telemetry, power_w=power_w)))
        if trip is not None:
            assert known(sample.telemetry.gpu_temp_c) == pytest.approx(stops_c, abs=0.11)
            return
    raise AssertionError("the load was never ended")


def settings(limited: str, **more: float) -> Guards:
    """A limit for one signal alone; nothing else is near."""
    limits = {"gpu_temp_limit_c": 120.0, "temp_rate_limit_c_per_s": 50.0, **more}
    return Guards.model_validate({**limits, limited: LIMIT_C})


@pytest.mark.parametrize(
    ("limited", "signal"),
    [
        ("gpu_temp_limit_c", "gpu_temp_c"),
        ("hotspot_temp_limit_c", "hotspot_temp_c"),
        ("memory_temp_limit_c", "memory_temp_c"),
    ],
)
def test_a_limit_of_a_profile_has_its_guard_with_the_profiles_margins(
    limited: str, signal: str
) -> None:
    said = settings(limited, sensor_lag_s=1.0, stop_latency_s=0.5, temp_margin_c=2.0)
    facts = GuardFacts(resolution=Resolution(temp_c=1.0))
    assert stopped_at_c(make_guards(said, facts), signal) == pytest.approx(74.5, abs=0.11)
    fine = GuardFacts(resolution=Resolution(temp_c=0.0))
    assert stopped_at_c(make_guards(said, fine), signal) == pytest.approx(75.0, abs=0.11)
    at_once = settings(limited, sensor_lag_s=1.0, stop_latency_s=0.0, temp_margin_c=2.0)
    assert stopped_at_c(make_guards(at_once, fine), signal) == pytest.approx(76.0, abs=0.11)
