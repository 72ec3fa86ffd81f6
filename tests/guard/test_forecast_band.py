"""The band of a forecast: told under load, judged when its time comes; it changes no verdict."""

from __future__ import annotations

import pytest

from burnin.core.foreseen import Foreseen
from burnin.core.sample import Sample, Telemetry
from burnin.guard.forecast_band import ForecastBand, Promise, foreseen_note, kept_of, notes_of
from burnin.guard.forecast_guard import ForecastGuard
from burnin.guard.guard_set import FittedGuard, GuardSet
from burnin.report.languages.catalogue import catalogue
from burnin.thermal.inputs import Limits, Row, Setup, plan_of
from burnin.thermal.trials.errors import Judged, RunErrors
from tests.thermal.cards import LOOP_LIKE

STEPS = ((3.0, 150.0), (40.0, 300.0), (80.0, 420.0))


def promised(middle_c: float = 50.0, mean_w: float = 200.0, ahead_s: float = 10.0) -> Promise:
    """A reading foreseen within 2 K."""
    return Promise(Foreseen(ahead_s, middle_c, middle_c - 2.0, middle_c + 2.0), mean_w)


def came(came_w: float = 200.0, gap_s: float = 0.0, ahead_s: float = 10.0) -> ForecastBand:
    """A forecast under 200 W, and what came 10 s later."""
    band = ForecastBand()
    band.see(Row(0.0, 200.0, 40.0), 200.0, (promised(ahead_s=ahead_s),))
    for second in range(1, 10):
        band.see(Row(float(second), came_w, 45.0), came_w, ())
    band.see(Row(10.0 + gap_s, came_w, 49.0), came_w, ())
    return band


@pytest.mark.parametrize("ahead_s", [9.8, 10.0])
def test_what_was_foreseen_stands_beside_what_came(ahead_s: float) -> None:
    assert came(ahead_s=ahead_s).due == (promised(ahead_s=ahead_s).foreseen,)


@pytest.mark.parametrize(
    ("came_w", "gap_s", "ahead_s"),
    [(240.0, 0.0, 10.0), (160.0, 0.0, 10.0), (200.0, 1.5, 10.0), (200.0, 0.0, 8.0)],
)
def test_one_whose_load_went_otherwise_or_whose_row_never_came_does_not(
    came_w: float, gap_s: float, ahead_s: float
) -> None:
    assert came(came_w, gap_s, ahead_s).due == ()


def test_what_was_foreseen_of_a_load_that_is_off_is_let_go() -> None:
    band = ForecastBand()
    band.see(Row(0.0, 200.0, 40.0), 200.0, (promised(),))
    assert band.now() == (promised().foreseen,)
    band.load_is_off()
    assert band.now() == ()
    band.see(Row(10.0, 200.0, 50.0), 200.0, ())
    assert band.due == ()


def test_what_was_judged_is_counted_a_horizon() -> None:
    errors = RunErrors()
    assert kept_of(errors) == ()
    for second, missed_k in enumerate((0.5, 1.5, 9.0)):
        errors.add(Judged(float(second), 10.0, missed_k, 4.0, missed_k))
    errors.add(Judged(3.0, 5.0, 1.0, 4.0, 1.0))
    [kept] = kept_of(errors)
    assert (kept.ahead_s, kept.judged_count, kept.inside_count) == (10.0, 3, 2)
    assert kept.mean_miss_k == pytest.approx(11.0 / 3.0)


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
