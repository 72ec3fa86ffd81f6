"""The band of a forecast: told under load, judged when its time comes; it changes no verdict."""

from __future__ import annotations

import numpy as np
import pytest

from burnin.core.sample import Sample, Telemetry
from burnin.guard.forecast_band import ForecastBand, foreseen_note, notes_of
from burnin.guard.forecast_guard import ForecastGuard
from burnin.guard.guard_set import FittedGuard, GuardSet
from burnin.report.languages.catalogue import catalogue
from burnin.thermal.forecast import Ahead, Forecast
from burnin.thermal.inputs import Limits, Row, Setup, plan_of
from tests.thermal.cards import LOOP_LIKE

STEPS = ((3.0, 150.0), (40.0, 300.0), (80.0, 420.0))


def foreseeing(middle_c: float, mean_w: float = 200.0, ahead_s: float = 10.0) -> Forecast:
    """A forecast of a reading that is even within 2 K of the middle."""
    die_c = np.linspace(middle_c - 2.0, middle_c + 2.0, 101)
    ahead = (Ahead(ahead_s, die_c, mean_w),)
    return Forecast(0.0, 0.0, np.inf, np.inf, 0.0, 60.0, np.full(4, np.inf), ahead=ahead)


def judged(reads_c: float, came_w: float = 200.0, gap_s: float = 0.0) -> ForecastBand:
    """A forecast of 50 °C under 200 W, and what came 10 s later."""
    band = ForecastBand(1.0)
    band.see(Row(0.0, 200.0, 40.0), 200.0, foreseeing(50.0))
    for second in range(1, 10):
        band.see(Row(float(second), came_w, 45.0), came_w, None)
    band.see(Row(10.0 + gap_s, came_w, reads_c), came_w, None)
    return band


@pytest.mark.parametrize(("reads_c", "inside"), [(52.0, 1), (48.0, 1), (53.0, 0), (47.0, 0)])
def test_a_forecast_is_judged_when_its_time_comes(reads_c: float, inside: int) -> None:
    [kept] = judged(reads_c).kept()
    assert (kept.ahead_s, kept.judged_count, kept.inside_count) == (10.0, 1, inside)
    assert kept.mean_miss_k == pytest.approx(abs(reads_c - 50.0))


@pytest.mark.parametrize(("came_w", "gap_s"), [(240.0, 0.0), (160.0, 0.0), (200.0, 1.5)])
def test_one_whose_load_went_otherwise_or_whose_row_never_came_is_not(
    came_w: float, gap_s: float
) -> None:
    assert judged(52.0, came_w, gap_s).kept() == ()


def test_what_was_foreseen_of_a_load_that_is_off_is_not_judged() -> None:
    band = ForecastBand(1.0)
    band.see(Row(0.0, 200.0, 40.0), 200.0, foreseeing(50.0))
    assert band.now()
    band.load_is_off()
    assert band.now() == ()
    band.see(Row(10.0, 200.0, 50.0), 200.0, None)
    assert band.kept() == ()


def test_a_coarser_sensor_has_a_wider_band() -> None:
    fine, coarse = (foreseeing(50.0).ahead[0].reads(step_c) for step_c in (0.1, 2.0))
    assert coarse.low_c < fine.low_c < 48.2 < 51.8 < fine.high_c < coarse.high_c
    assert fine.value_c == coarse.value_c == pytest.approx(50.0)


def test_a_sound_cards_forecasts_hold_and_are_told_in_both_languages() -> None:
    setup = Setup(Limits(90.0), plan_of(STEPS, 240.0), ambient_c=24.0, has_fan=False)
    guards = GuardSet((FittedGuard("forecast", ForecastGuard(setup), {}),))
    for row in LOOP_LIKE.rows(STEPS, 150.0):
        telemetry = Telemetry(gpu_temp_c=row.die_c, power_w=row.power_w)
        guards.judge(Sample(row.time_s, "", "1", telemetry, load_w=row.power_w or None))
    near, far = guards.forecasts_kept()
    assert (near.ahead_s, far.ahead_s) == (10.0, 30.0)
    for kept in (near, far):
        assert kept.judged_count > 40
        # One block is no loop: the model is wrong by what its coolant would add.
        assert 0.7 * kept.judged_count < kept.inside_count <= kept.judged_count
        assert 0.0 < kept.mean_miss_k < 1.5
    band = guards.foreseen()
    assert [round(foreseen.ahead_s) for foreseen in band] == [5, 10, 21, 30, 58]
    widths = [foreseen.high_c - foreseen.low_c for foreseen in band]
    assert widths[0] < widths[-1]
    for note in (*notes_of((near, far)), foreseen_note(band[0])):
        assert catalogue("en").say(note) != catalogue("de").say(note)
