"""A card without fans of its own, in air that the chassis moves."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from burnin.guard.forecast_guard import ForecastGuard
from burnin.guard.guard import Trip
from burnin.replay.recording_file import BadRow, open_recording
from burnin.report.languages.catalogue import catalogue
from burnin.thermal.cooling_verdict import judge_cooling
from burnin.thermal.estimator import CoolingWatch
from burnin.thermal.inputs import Limits, Row, Setup, plan_of
from burnin.thermal.meanings import CoolingCause
from burnin.thermal.priors import hypotheses
from burnin.thermal.states import CooledBy, Cooling, check, suspect
from tests.thermal.cards import OneBlock

SOUND = OneBlock(0.027, 790.0, 38.0, room_c=30.0)
STEPS = ((0.0, 125.0), (610.0, 300.0), (650.0, 600.0))
FROM_S, TO_S = 600.0, 750.0
"""Before the first row the card has come to rest at idle."""
NO_AIR = replace(SOUND, away_w_per_k=1.2)
LOOSE = replace(SOUND, mount_k_per_w=0.11)
CLOGGED = replace(SOUND, away_w_per_k=6.0)


def setup(limit_c: float = 90.0, cooled_by: CooledBy | None = CooledBy.STREAM) -> Setup:
    return Setup(Limits(limit_c), plan_of(STEPS, TO_S), cooled_by=cooled_by)


def seen(card: OneBlock, until_s: float = TO_S) -> list[Row]:
    return [row for row in card.rows(STEPS, until_s) if row.time_s >= FROM_S]


def run(card: OneBlock, guard: ForecastGuard) -> tuple[Row, Trip] | None:
    for row in seen(card):
        trip = guard.see(row)
        if trip is not None:
            return row, trip
    return None


@pytest.mark.parametrize("cooled_by", [CooledBy.STREAM, None])
def test_a_sound_card_runs_to_the_end_and_is_named(cooled_by: CooledBy | None) -> None:
    guard = ForecastGuard(setup(cooled_by=cooled_by))
    assert run(SOUND, guard) is None
    assert guard.state()[0] == Cooling.HEALTHY_AIR
    found = judge_cooling(guard.watch).resistance_k_per_w
    mount, away = found["die_to_block"], found["block_to_room"]
    assert mount.value == pytest.approx(SOUND.mount_k_per_w, rel=0.2)
    whole = mount.value + away.value
    assert whole == pytest.approx(SOUND.mount_k_per_w + 1.0 / SOUND.away_w_per_k, rel=0.25)


@pytest.mark.parametrize(
    ("card", "state"), [(LOOSE, Cooling.POOR_MOUNT), (CLOGGED, Cooling.CLOGGED)]
)
def test_a_fault_is_suspected_in_time_and_named(card: OneBlock, state: Cooling) -> None:
    guard = ForecastGuard(setup())
    stopped = run(card, guard)
    assert stopped is not None
    row, trip = stopped
    crossing_s = next(r.time_s for r in seen(card) if r.die_c >= 90.0)
    assert crossing_s - 10.0 < row.time_s < crossing_s
    assert trip.suspect == suspect(state, CooledBy.STREAM)
    for later in seen(card, crossing_s + 10.0):
        guard.watch.see(later)
    assert guard.state()[0] == state


def test_a_card_without_any_air_is_stopped_while_it_idles() -> None:
    """125 W at idle are too much for bare fins: 90 °C is reached without any work."""
    cold = [row for row in NO_AIR.rows(STEPS, 600.0) if row.time_s >= 5.0]
    guard = ForecastGuard(setup())
    warned_s, stop_s = math.inf, math.inf
    for row in cold:
        trip, expected = guard.see(row), guard.expectation()
        if expected is not None and expected.crossing_in_s is not None:
            warned_s = min(warned_s, row.time_s)
        if trip is not None:
            stop_s = row.time_s
            break
    crossing_s = next(row.time_s for row in cold if row.die_c >= 90.0)
    assert warned_s + 30.0 < crossing_s
    assert crossing_s - 15.0 < stop_s < crossing_s - 2.0
    assert guard.state()[0] == Cooling.FAN_LOST


def test_a_stream_that_fails_under_load_is_seen_and_stopped() -> None:
    guard = ForecastGuard(setup())
    fails_s, stop_s = 700.0, math.inf
    block, watts = 0.0, 600.0
    for row in seen(SOUND, fails_s):
        assert guard.see(row) is None
        block = row.die_c - SOUND.mount_k_per_w * watts
    crossing_s = math.inf
    for k in range(1, 900):
        now = fails_s + 0.1 * k
        block += 0.1 * (watts - 1.8 * (block - SOUND.room_c)) / SOUND.block_j_per_k
        die_c = block + SOUND.mount_k_per_w * watts
        if guard.see(Row(now, watts, float(round(die_c)))) is not None:
            stop_s = now
            break
        if die_c >= 90.0:
            crossing_s = now
            break
    assert fails_s < stop_s < crossing_s - 1.0
    assert guard.state()[0] == Cooling.FAN_LOST


def test_what_is_suspected_is_the_chassis_not_a_fan_that_the_card_has_not_got() -> None:
    words = catalogue("en")
    assert suspect(Cooling.FAN_LOST, CooledBy.STREAM).means(CoolingCause.STREAM)
    assert "chassis" in words.say(suspect(Cooling.FAN_LOST, CooledBy.STREAM))
    assert "chassis" in words.say(check(Cooling.FAN_LOST, CooledBy.STREAM))
    assert "chassis" not in words.say(suspect(Cooling.FAN_LOST, CooledBy.FANS))
    for state in Cooling:
        assert words.say(suspect(state, CooledBy.STREAM))
        assert words.say(check(state, CooledBy.STREAM))


def test_fans_and_water_are_believed_as_before_where_they_are_said() -> None:
    assert hypotheses(True) == hypotheses(None, CooledBy.FANS)
    assert hypotheses(False) == hypotheses(None, CooledBy.WATER)
    assert {h.state for h in hypotheses(None, CooledBy.STREAM)} == {
        Cooling.HEALTHY_AIR, Cooling.POOR_MOUNT, Cooling.CLOGGED, Cooling.FAN_LOST,
    }  # fmt: skip
    assert not any(h.stream for h in (*hypotheses(True), *hypotheses(False)))
    assert any(h.stream for h in hypotheses(None))


def test_a_sound_card_is_not_taken_for_a_faulty_one_that_has_come_to_resemble_it() -> None:
    guard = ForecastGuard(setup())
    run(SOUND, guard)
    chances = guard.watch.probabilities()
    assert chances[Cooling.POOR_MOUNT] < 0.05


def test_an_aliased_reading_stops_no_sound_card_with_or_without_a_counter() -> None:
    """A load switched every 20 ms: the reading beats slowly between the peak and nothing."""

    def rows(counted: bool) -> list[Row]:
        result, energy_j, before_s = [], 0.0, FROM_S
        for row in seen(SOUND):
            energy_j += row.power_w * (row.time_s - before_s)
            before_s = row.time_s
            beat_w = row.power_w + (row.power_w - 120.0) * math.cos(row.time_s / 3.0)
            result.append(replace(row, power_w=beat_w, energy_j=energy_j if counted else None))
        return result

    def stop(counted: bool) -> float:
        guard = ForecastGuard(setup(75.0))
        stopped = (row.time_s for row in rows(counted) if guard.see(row) is not None)
        return next(stopped, math.inf)

    assert math.isinf(stop(counted=True))
    assert math.isinf(stop(counted=False))


def test_a_real_card_of_unknown_cooling_is_settled_on_once_it_is_sure(data: Path) -> None:
    watch = CoolingWatch(Setup(Limits(90.0)))
    kinds: list[CooledBy | None] = []
    with (data / "held_power" / "ramp_300_600.csv").open(encoding="utf-8") as stream:
        for sample in open_recording("ramp", stream).rows():
            assert not isinstance(sample, BadRow)
            row = ForecastGuard.row(sample)
            assert row is not None
            watch.see(row)
            kinds.append(watch.cooled_by)
    assert kinds[0] is None
    assert kinds[-1] is CooledBy.STREAM
    assert watch.has_fan is False
