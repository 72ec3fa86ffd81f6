"""What fails in the middle of a run: pump, fan, sensor."""

from __future__ import annotations

import math
from collections.abc import Iterator

import pytest

from burnin.core.sample import Sample, Telemetry
from burnin.guard.forecast_guard import ForecastGuard
from burnin.guard.stuck_sensor import StuckSensor
from burnin.thermal.fan_evidence import COLDEST_STOP_C, FanEvidence
from burnin.thermal.inputs import Limits, Row, Setup, plan_of
from burnin.thermal.states import Cooling

PLAN = ((0.0, 250.0),)
ROOM_C, MOUNT_K_PER_W, BLOCK_J_PER_K = 24.0, 0.06, 330.0
LIMIT_C = 90.0


def rows(fails_at_s: float, until_s: float, *, air: bool) -> Iterator[tuple[Row, float]]:
    """Rows and true die of a card whose flow or fan fails at a time; loop water 3 kJ/K."""
    block, water, sensor = ROOM_C, ROOM_C, ROOM_C
    for k in range(round(until_s * 10)):
        now = k * 0.1
        sound = now < fails_at_s
        away = (11.0 if sound else 1.4) if air else (25.0 if sound else 1.0)
        flow = away * (block - (ROOM_C if air else water))
        water += 0.1 * (flow - 22.0 * (water - ROOM_C)) / 3300.0
        block += 0.1 * (250.0 - flow) / (BLOCK_J_PER_K * (1.6 if air else 1.0))
        die = block + MOUNT_K_PER_W * 250.0
        sensor += (die - sensor) * (1.0 - math.exp(-0.1))
        rpm = (2100.0 if sound else 0.0) if air else None
        yield Row(round(now, 1), 250.0, float(round(sensor)), None, rpm), die


def stop_of(fails_at_s: float, *, air: bool) -> tuple[float, float, ForecastGuard]:
    """Time of the stop, time at which the true die would have crossed, and the guard."""
    setup = Setup(Limits(LIMIT_C), plan_of(PLAN, 400.0), ROOM_C, air)
    guard = ForecastGuard(setup)
    stop_s = math.inf
    for row, die in rows(fails_at_s, 400.0, air=air):
        if math.isinf(stop_s) and guard.see(row) is not None:
            stop_s = row.time_s
        if die >= LIMIT_C:
            return stop_s, row.time_s, guard
    return stop_s, math.inf, guard


def test_a_pump_that_dies_is_seen_and_named() -> None:
    stop_s, crossing_s, guard = stop_of(120.0, air=False)
    assert crossing_s - 10.0 < stop_s < crossing_s - 1.0
    chances = guard.watch.probabilities()
    assert max(chances, key=lambda s: chances[s]) is Cooling.FLOW_LOST


def test_a_fan_that_dies_is_seen_and_named() -> None:
    stop_s, crossing_s, guard = stop_of(120.0, air=True)
    assert crossing_s - 10.0 < stop_s < crossing_s - 1.0
    chances = guard.watch.probabilities()
    assert max(chances, key=lambda s: chances[s]) is Cooling.FAN_LOST


@pytest.mark.parametrize("air", [True, False])
def test_nothing_is_seen_where_nothing_fails(air: bool) -> None:
    stop_s, _, guard = stop_of(math.inf, air=air)
    assert math.isinf(stop_s)
    assert guard.watch.alarm_at_s is None


def test_a_turning_fan_speaks_against_its_loss_and_a_stop_in_the_heat_for_it() -> None:
    evidence = FanEvidence()
    assert evidence.add(1.0, 1500.0, 70.0) < 0.0
    assert evidence.add(1.0, 0.0, 70.0) > 3.0
    assert evidence.stopped_now


def test_a_fan_that_rests_on_a_cool_card_says_nothing() -> None:
    evidence = FanEvidence()
    evidence.add(1.0, 1500.0, 60.0)
    assert evidence.add(1.0, 0.0, COLDEST_STOP_C - 1.0) == 0.0
    assert not evidence.stopped_now


def sample(time_s: float, power_w: float, temp_c: float) -> Sample:
    return Sample(time_s, "", "", Telemetry(gpu_temp_c=temp_c, power_w=power_w))


def test_a_sensor_that_answers_to_power_is_not_stuck() -> None:
    guard = StuckSensor()
    for k in range(300):
        power_w = 20.0 if k < 50 else 300.0
        temp_c = 30.0 if k < 70 else 40.0
        assert guard.judge(sample(k / 10, power_w, temp_c)) is None


def test_a_steady_card_is_not_stuck() -> None:
    guard = StuckSensor()
    assert all(guard.judge(sample(k / 10, 300.0 + k % 3, 60.0)) is None for k in range(1200))


def test_a_sensor_that_does_not_answer_is_stuck() -> None:
    guard = StuckSensor()
    trips = [
        (k / 10, guard.judge(sample(k / 10, 20.0 if k < 50 else 300.0, 30.0))) for k in range(200)
    ]
    first_s, trip = next((t, trip) for t, trip in trips if trip is not None)
    assert 12.9 < first_s < 13.3
    assert trip.guard == "stale data"
    with pytest.raises(ValueError, match="above 0"):
        StuckSensor(rise_w=0.0)
