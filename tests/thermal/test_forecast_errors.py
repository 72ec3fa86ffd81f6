"""Forecasts are judged when their time comes; the band is as wide as they were wrong."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from itertools import chain

from burnin.guard.forecast_guard import ForecastGuard
from burnin.thermal.inputs import Limits, Row, Setup, plan_of
from burnin.thermal.trials.errors import HorizonErrors, Judged, Standing
from burnin.thermal.trials.judge import Told
from burnin.thermal.trials.prior_errors import PRIOR
from tests.thermal.cards import LOOP_LIKE, LOOSE

STEPS = ((3.0, 150.0), (40.0, 300.0))
AHEAD_S = 10.0


def guard_of() -> ForecastGuard:
    """A card in a loop whose limit is far away."""
    setup = Setup(Limits(110.0), plan_of(STEPS, 400.0), ambient_c=24.0, has_fan=False)
    return ForecastGuard(setup)


def told(guard: ForecastGuard, rows: Iterable[Row]) -> list[tuple[float, Told]]:
    """What is told each second of the reading 10 s ahead."""
    found = []
    for row in rows:
        guard.see(row)
        answer = guard.told(AHEAD_S)
        if answer is not None and abs(row.time_s - round(row.time_s)) < 1e-6:
            found.append((row.time_s, answer))
    return found


def test_the_band_holds_what_is_then_read_of_a_card_that_the_model_knows() -> None:
    rows = list(LOOP_LIKE.rows(STEPS, 110.0))
    read_c = {row.time_s: row.die_c for row in rows}
    found = [(read_c[t + AHEAD_S], a) for t, a in told(guard_of(), rows) if t + AHEAD_S in read_c]
    held = [a.die_c.low <= c <= a.die_c.high for c, a in found]
    assert len(held) > 80
    assert sum(held) >= 0.95 * len(held)
    assert found[0][1].standing is Standing.UNTRIED
    last = found[-1][1]
    assert last.standing is Standing.HELD
    assert last.judged > 60
    assert last.die_c.high - last.die_c.low < 8.0


def test_a_card_that_leaves_its_forecast_is_told_wrong_and_wider_until_it_is_right_again() -> None:
    worse = replace(LOOSE, mount_k_per_w=0.11)  # the mount lets go: 300 W more over the block
    sound = list(LOOP_LIKE.rows(STEPS, 90.0))
    after = [r for r in worse.rows(STEPS, 200.0) if r.time_s >= 90.0]
    found = told(guard_of(), chain(sound, after))
    before = next(a for t, a in found if t == 89.0)
    wrong = [(t, a) for t, a in found if a.standing is Standing.WRONG]
    assert before.standing is Standing.HELD
    assert 90.0 <= wrong[0][0] <= 95.0
    widest_k = max(a.die_c.high - a.die_c.low for _, a in wrong)
    assert widest_k > 1.5 * (before.die_c.high - before.die_c.low)
    good_again_s = next(t for t, a in found if t > wrong[-1][0])
    assert good_again_s - 90.0 >= AHEAD_S
    assert found[-1][1].standing is Standing.HELD


def test_a_load_that_is_not_as_planned_is_no_error_of_the_forecast() -> None:
    other = ((3.0, 150.0), (40.0, 300.0), (70.0, 100.0))  # the plan went on with 300 W
    found = told(guard_of(), LOOP_LIKE.rows(other, 110.0))
    assert found[-1][1].standing is Standing.HELD
    assert found[-1][1].judged - found[-1][1].held <= 2


def test_nothing_is_judged_across_a_hole_in_the_rows() -> None:
    rows = [r for r in LOOP_LIKE.rows(STEPS, 160.0) if not 60.0 < r.time_s < 120.0]
    found = dict(told(guard_of(), rows))
    assert found[60.0].judged == found[129.0].judged
    assert found[140.0].judged > found[129.0].judged


def test_every_horizon_is_judged_at_its_own_time() -> None:
    guard = guard_of()
    rows = iter(LOOP_LIKE.rows(STEPS, 60.0))
    for until_s, counts in ((7.0, (0, 0, 0)), (12.0, (4, 0, 0)), (30.0, (22, 17, 0))):
        for row in rows:
            guard.see(row)
            if row.time_s >= until_s:
                break
        seen = [guard.trials.errors.horizons[h].judged for h in (5.0, 10.0, 30.0)]
        assert all(abs(a - b) <= 4 for a, b in zip(seen, counts, strict=True)), (until_s, seen)


def test_a_run_that_errs_as_others_do_keeps_their_width_and_one_that_errs_less_narrows() -> None:
    known = HorizonErrors(10.0, PRIOR[10.0])
    start = known.widening(0.0)
    assert PRIOR[10.0][13] <= start <= PRIOR[10.0][15]  # 96 and 98 %
    for k in range(300):
        known.add(Judged(float(k), 10.0, 0.2, known.widening(float(k))))
    assert known.widening(300.0) < 0.6 * start
    for k in range(300, 330):
        known.add(Judged(float(k), 10.0, 5.0, known.widening(float(k))))
    assert known.widening(330.0) >= 5.0
