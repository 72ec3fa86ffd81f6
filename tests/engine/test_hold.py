"""The controller on a modelled card, within the figures that a real one must show."""

from __future__ import annotations

import itertools
import random
import statistics

import pytest

from burnin.card.sources.meanings import LinuxReason
from burnin.core.reading import NotMeasured
from burnin.engine.meanings import EngineNote
from burnin.engine.power_hold import RISE_W_PER_S, PowerHold
from tests.engine.heated_card import STEP_S, HeatedCard

SETTLING_S, JUDGED_S = 5.0, 10.0
NO_SENSOR = NotMeasured(LinuxReason.NO_SUCH_SENSOR())


def work(card: HeatedCard, hold: PowerHold, seconds: float, *, energy: bool = True) -> None:
    """Samples at about 20 Hz, as unevenly as a busy bench takes them."""
    bench = random.Random(card.seed + 1)
    end_s, next_s = card.time_s + seconds, card.time_s
    while card.time_s < end_s - STEP_S / 2:
        card.pass_time()
        if card.time_s >= next_s:
            next_s = card.time_s + 0.05 * bench.uniform(0.8, 1.6)
            counter = card.shown_energy_j if energy else NO_SENSOR
            card.share = hold.update(card.time_s, card.power_w, counter)


@pytest.mark.parametrize("bend", [-0.2, 0.0, 0.3])
@pytest.mark.parametrize("target_w", [200.0, 300.0, 450.0, 600.0])
def test_power_is_held(target_w: float, bend: float) -> None:
    for seed in range(20):
        card = HeatedCard(seed, bend=bend)
        hold = PowerHold(target_w)
        work(card, hold, SETTLING_S + JUDGED_S)
        assert hold.arrived
        windows = [card.mean_w(SETTLING_S + k, SETTLING_S + k + 1.0) for k in range(10)]
        assert card.mean_w(SETTLING_S, SETTLING_S + JUDGED_S) == pytest.approx(target_w, rel=0.01)
        assert statistics.pstdev(windows) < 0.02 * target_w
        everywhere = [card.mean_w(k * 0.1, k * 0.1 + 1.0) for k in range(1, 139)]
        assert max(everywhere) <= 1.05 * target_w


@pytest.mark.parametrize("target_w", [200.0, 450.0])
@pytest.mark.parametrize("begins_s", [0.3, 0.9, 1.7])
def test_work_that_begins_late_is_not_taken_for_a_weak_card(
    target_w: float, begins_s: float
) -> None:
    for seed in range(10):
        card = HeatedCard(seed, bend=0.6, begins_s=begins_s)
        work(card, PowerHold(target_w, idle_w=card.idle_w), 8.0)
        everywhere = [card.mean_w(k * 0.1, k * 0.1 + 1.0) for k in range(1, 70)]
        assert max(everywhere) <= 1.05 * target_w


def test_the_start_is_soft() -> None:
    card = HeatedCard(3, waver=0.0)
    work(card, PowerHold(600.0), 4.0)
    rises = [card.mean_w(k * 0.1 + 1.0, k * 0.1 + 1.5) - card.mean_w(k * 0.1 + 0.5, k * 0.1 + 1.0)
             for k in range(25)]
    assert max(rises) / 0.5 < 1.3 * RISE_W_PER_S


def test_steps_up_climb_and_steps_down_fall_at_once() -> None:
    card = HeatedCard(5)
    hold = PowerHold(250.0)
    work(card, hold, 8.0)
    hold.set_target(500.0)
    work(card, hold, 10.0)
    assert card.mean_w(14.0, 18.0) == pytest.approx(500.0, rel=0.015)
    hold.set_target(200.0)
    work(card, hold, 0.5)
    assert card.power_w < 260.0
    work(card, hold, 5.5)
    assert card.mean_w(20.0, 24.0) == pytest.approx(200.0, rel=0.015)


@pytest.mark.parametrize("target_w", [200.0, 260.0, 450.0])
def test_power_is_held_after_other_work_where_the_rest_is_known(target_w: float) -> None:
    for seed in range(10):
        card = HeatedCard(seed)
        card.share = 0.9
        while card.time_s < 12.0:
            card.pass_time()
        assert card.power_w > 1.2 * target_w
        hold = PowerHold(target_w, idle_w=card.idle_w)
        work(card, hold, 12.0)
        assert card.mean_w(18.0, 24.0) == pytest.approx(target_w, rel=0.015)
        everywhere = [card.mean_w(13.5 + k * 0.1, 14.5 + k * 0.1) for k in range(1, 95)]
        assert max(everywhere) <= 1.05 * target_w


def test_the_curve_is_identified_anew_as_the_card_heats() -> None:
    card = HeatedCard(7, waver=0.0)
    hold = PowerHold(450.0)
    work(card, hold, 6.0)
    cold_w = hold.watts_per_share
    work(card, hold, 60.0)
    assert cold_w is not None
    assert hold.watts_per_share is not None
    assert hold.watts_per_share > cold_w
    assert card.mean_w(50.0, 60.0) == pytest.approx(450.0, rel=0.005)


def test_a_target_beyond_the_card_ends_at_full_work_and_recovers_without_a_burst() -> None:
    card = HeatedCard(2, full_w=500.0)
    hold = PowerHold(600.0)
    work(card, hold, 12.0)
    assert hold.saturated
    hold.set_target(300.0)
    work(card, hold, 6.0)
    assert card.mean_w(14.0, 18.0) == pytest.approx(300.0, rel=0.02)


def test_without_an_energy_counter_the_power_sensor_serves() -> None:
    card = HeatedCard(4)
    hold = PowerHold(400.0)
    work(card, hold, 15.0, energy=False)
    assert hold.why == EngineNote.HELD_BY_POWER_SENSOR()
    assert card.mean_w(5.0, 15.0) == pytest.approx(400.0, rel=0.03)


def test_without_any_sensor_a_load_share_is_held_and_said_so() -> None:
    hold = PowerHold(300.0, share_without_sensor=0.4)
    shares = [hold.update(k * 0.05, NO_SENSOR, NO_SENSOR) for k in range(200)]
    assert shares[0] == 0.0
    assert max(b - a for a, b in itertools.pairwise(shares)) < 0.01
    assert shares[-1] == 0.4
    assert hold.mode == "share"
    assert hold.why == EngineNote.HELD_AS_SHARE(share=0.4)


def test_numbers_that_stop_coming_let_the_load_fall() -> None:
    card = HeatedCard(1)
    hold = PowerHold(300.0)
    work(card, hold, 6.0)
    assert card.share > 0.0
    frozen_j = card.shown_energy_j
    shares = [hold.update(card.time_s + k * 0.05, 300.0, frozen_j) for k in range(60)]
    assert shares[-1] == 0.0


def test_a_counter_that_restarts_does_not_jolt() -> None:
    card = HeatedCard(6)
    hold = PowerHold(300.0)
    work(card, hold, 8.0)
    before = card.share
    card.energy_j = card.shown_energy_j = 0.0
    work(card, hold, 0.3)
    assert card.share <= before * 1.1
    work(card, hold, 8.0)
    assert card.mean_w(10.0, 15.0) == pytest.approx(300.0, rel=0.015)


@pytest.mark.parametrize("target_w", [0.0, -5.0, float("nan")])
def test_a_power_that_cannot_be_held_is_refused(target_w: float) -> None:
    with pytest.raises(ValueError, match="above 0"):
        PowerHold(target_w)
