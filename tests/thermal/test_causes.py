"""'Unknown' wins where no model fits; what is far from sound is not called healthy."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import pytest

from burnin.guard.forecast_guard import ForecastGuard
from burnin.thermal.causes import told_causes
from burnin.thermal.cooling_verdict import TELLS_AT, judge_cooling
from burnin.thermal.inputs import Limits, Row, Setup, plan_of
from burnin.thermal.states import HEALTHY, CooledBy, Cooling
from tests.thermal.cards import LOOP_LIKE, OneBlock

STEPS = ((3.0, 100.0), (60.0, 200.0), (120.0, 300.0))
STREAM_STEPS = ((3.0, 200.0), (60.0, 400.0), (120.0, 700.0))


def guard_of(
    steps: tuple[tuple[float, float], ...] = STEPS, cooled_by: CooledBy = CooledBy.WATER
) -> ForecastGuard:
    """Nothing is stopped: the limit is far away."""
    plan = plan_of(steps, 400.0)
    return ForecastGuard(Setup(Limits(125.0), plan, ambient_c=24.0, cooled_by=cooled_by))


def led(guard: ForecastGuard, rows: Iterable[Row]) -> dict[Cooling, float]:
    """What is told after the rows."""
    for row in rows:
        if row.die_c < 110.0:
            guard.see(row)
    return told_causes(guard.watch)


def wandering(rows: Iterable[Row], from_s: float) -> Iterable[Row]:
    """A sensor that from then on rises for 16 s and falls for 16 s, whatever the load."""
    for row in rows:
        within_s = (row.time_s - from_s) % 32.0
        off_k = 0.0 if row.time_s < from_s else 0.8 * min(within_s, 32.0 - within_s)
        yield replace(row, die_c=float(round(row.die_c + off_k)))


def test_what_no_model_explains_is_told_as_unknown_and_never_as_healthy() -> None:
    guard = guard_of()
    chances = led(guard, wandering(LOOP_LIKE.rows(STEPS, 240.0), 150.0))
    assert chances[Cooling.UNKNOWN] >= TELLS_AT
    assert sum(chances.values()) == pytest.approx(1.0)
    assert guard.state()[0] is Cooling.UNKNOWN
    assert judge_cooling(guard.watch).state is Cooling.UNKNOWN


def test_a_sound_card_is_told_sound_though_unknown_has_a_prior_of_its_own() -> None:
    guard = guard_of()
    assert sum(led(guard, LOOP_LIKE.rows(STEPS, 6.0))[s] for s in HEALTHY) < 0.9
    guard = guard_of()
    chances = led(guard, LOOP_LIKE.rows(STEPS, 200.0))
    assert chances[Cooling.HEALTHY_LOOP] > 0.95
    assert 0.0 < chances[Cooling.UNKNOWN] < 0.03


WORSE = [
    (CooledBy.WATER, STEPS, OneBlock(0.067, 330.0, 28.0)),
    (CooledBy.WATER, STEPS, OneBlock(0.05, 330.0, 22.0)),
    (CooledBy.FANS, STEPS, OneBlock(0.067, 560.0, 9.0)),
    (CooledBy.STREAM, STREAM_STEPS, OneBlock(0.0275, 640.0, 37.0)),
    (CooledBy.STREAM, STREAM_STEPS, OneBlock(0.022, 640.0, 50.0)),
]


@pytest.mark.parametrize(("cooled_by", "steps", "sound"), WORSE)
def test_a_mount_or_an_air_way_four_times_worse_is_not_called_healthy(
    cooled_by: CooledBy, steps: tuple[tuple[float, float], ...], sound: OneBlock
) -> None:
    mount = replace(sound, mount_k_per_w=4.0 * sound.mount_k_per_w)
    clogged = replace(sound, away_w_per_k=0.25 * sound.away_w_per_k)
    for card, healthy in ((sound, True), (mount, False), (clogged, False)):
        chances = led(guard_of(steps, cooled_by), card.rows(steps, 240.0))
        assert (sum(chances[s] for s in HEALTHY) >= TELLS_AT) is healthy, (card, chances)


def test_a_small_card_whose_mount_is_as_a_small_cards_is_not_blamed_for_it() -> None:
    small = ((3.0, 25.0), (60.0, 50.0), (120.0, 75.0))
    mount = OneBlock(0.20, 330.0, 20.0)  # 15 K at 75 W, as every sound card has; 60 K at 300 W
    chances = led(guard_of(small), mount.rows(small, 240.0))
    assert chances[Cooling.POOR_MOUNT] < 0.3
    assert chances[Cooling.HEALTHY_LOOP] > 0.5
    assert led(guard_of(), mount.rows(STEPS, 240.0))[Cooling.POOR_MOUNT] > TELLS_AT


def test_what_is_told_does_not_change_what_the_models_say_to_a_stop() -> None:
    guard = guard_of()
    led(guard, wandering(LOOP_LIKE.rows(STEPS, 240.0), 150.0))
    assert guard.watch.probabilities()[Cooling.UNKNOWN] == 0.0
