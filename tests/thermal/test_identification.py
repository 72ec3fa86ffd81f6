"""What is identified against what was put in; and that the bank keeps its head."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from burnin.thermal.cooling_verdict import judge_cooling, rise_at
from burnin.thermal.estimator import CoolingWatch
from burnin.thermal.inputs import Limits, Row, Setup, plan_of
from burnin.thermal.trials.expected_reading import expected_die_c
from tests.thermal.cards import DRY, LOOP_LIKE, OneBlock

STEPS = ((3.0, 150.0), (40.0, 300.0))


def watched(card: OneBlock, until_s: float, has_fan: bool | None = False) -> CoolingWatch:
    setup = Setup(Limits(200.0), plan_of(STEPS), ambient_c=card.room_c, has_fan=has_fan)
    watch = CoolingWatch(setup)
    for row in card.rows(STEPS, until_s):
        watch.see(row)
    return watch


def test_elements_of_a_dry_block_are_found() -> None:
    verdict = judge_cooling(watched(DRY, 70.0))
    mount = verdict.resistance_k_per_w["die_to_block"]
    capacity = verdict.capacity_j_per_k["block"]
    assert mount.low <= DRY.mount_k_per_w <= mount.high
    assert capacity.value == pytest.approx(DRY.block_j_per_k, rel=0.12)
    assert verdict.steady is False


def test_rise_at_rated_power_is_extrapolated_with_its_interval() -> None:
    watch = watched(DRY, 110.0)
    rise = rise_at(watch, 60.0)
    true_k = 60.0 * (DRY.mount_k_per_w + 1.0 / DRY.away_w_per_k)
    assert rise.low <= true_k <= rise.high
    assert rise_at(watch, 120.0).value > rise.value
    with pytest.raises(ValueError, match="above 0 W"):
        rise_at(watch, 0.0)


def test_a_reading_ahead_is_expected_rightly() -> None:
    plan = plan_of(STEPS)
    watch = watched(LOOP_LIKE, 60.0)
    *_, later = LOOP_LIKE.rows(STEPS, 90.1)
    ahead = expected_die_c(watch, plan, later.time_s - 59.9)
    assert ahead.value == pytest.approx(later.die_c, abs=2.0)
    with pytest.raises(ValueError, match="not ahead"):
        expected_die_c(watch, plan, 0.0)


def test_before_the_first_row_nothing_is_claimed() -> None:
    watch = CoolingWatch(Setup(Limits(90.0)))
    verdict = judge_cooling(watch)
    assert verdict.state == "cannot tell yet"
    assert verdict.resistance_k_per_w == {}
    for ask in (lambda: rise_at(watch, 300.0), lambda: watch.look_ahead()):
        with pytest.raises(ValueError, match="no row"):
            ask()


rows = st.lists(
    st.tuples(
        st.floats(0.05, 20.0),
        st.floats(0.0, 700.0),
        st.integers(-10, 130),
        st.one_of(st.none(), st.integers(-10, 140)),
        st.one_of(st.none(), st.floats(0.0, 5000.0)),
    ),
    min_size=1,
    max_size=40,
)


@settings(max_examples=40, deadline=None)
@given(rows=rows, has_fan=st.sampled_from([True, False, None]))
def test_any_readings_leave_probabilities_and_forecast_sound(
    rows: list[tuple[float, float, int, int | None, float | None]], has_fan: bool | None
) -> None:
    watch = CoolingWatch(Setup(Limits(90.0, 105.0), None, None, has_fan))
    now = 0.0
    for dt, power_w, die, spot, rpm in rows:
        now += dt
        watch.see(Row(now, power_w, float(die), None if spot is None else float(spot), rpm))
    chances = watch.probabilities()
    assert sum(chances.values()) == pytest.approx(1.0, abs=1e-6)
    assert all(0.0 <= p <= 1.0 + 1e-9 for p in chances.values())
    if watch.bank is None:  # under load from the first row on, and too short to tell since when
        assert rows[0][1] > 60.0
        return
    ahead = watch.look_ahead()
    assert 0.0 <= ahead.any_probability <= 1.0
    assert not np.isnan(ahead.peak_c)
    assert ahead.within(1.0) <= ahead.within(10.0) <= ahead.any_probability + 1e-9
