"""Drawn scenarios: shares, truth, oracle, sensors, the same for the same seed."""

from __future__ import annotations

from collections import Counter
from dataclasses import FrozenInstanceError, fields

import numpy as np
import pytest

from tests.others.thermal.drawn import Rows, Scenario, scenario
from tests.others.thermal.drawn.faults import DETAILS
from tests.others.thermal.drawn.network import STEP_S

pytestmark = pytest.mark.long

COUNT = 300


@pytest.fixture(scope="module")
def drawn() -> list[Scenario]:
    return [scenario(seed) for seed in range(COUNT)]


def same(first: Rows, second: Rows, count: int | None = None) -> bool:
    pairs = [(getattr(first, f.name), getattr(second, f.name)) for f in fields(Rows)]
    return all(
        (a is None and b is None) or np.array_equal(a[:count], b[:count], equal_nan=True)
        for a, b in pairs
    )


def test_a_seed_gives_one_scenario_and_no_other() -> None:
    once, again, other = scenario(7), scenario(7), scenario(8)
    assert same(once.rows, again.rows)
    assert once.bench == again.bench
    assert np.array_equal(once.truth.die_c, again.truth.die_c)
    assert once.truth.latest_stop_s == again.truth.latest_stop_s
    assert not np.array_equal(once.truth.die_c[:500], other.truth.die_c[:500])
    with pytest.raises(FrozenInstanceError):
        once.seed = 9  # type: ignore[misc]


def test_shares(drawn: list[Scenario]) -> None:
    truths = [s.truth for s in drawn]
    faulty = [t for t in truths if t.cause != "none"]
    crossing = [t for t in faulty if t.crossing_s is not None]
    assert 0.47 * COUNT < len(faulty) < 0.63 * COUNT
    assert 0.25 < 1.0 - len(crossing) / len(faulty) < 0.42
    causes = Counter(t.cause for t in faulty)
    assert set(causes) == {cause for kind in DETAILS.values() for cause in kind}
    assert min(causes.values()) >= 6
    for grade in ("trifling", "mild", "serious", "grave"):
        of_grade = [t.crossing_s is None for t in faulty if t.grade == grade]
        assert 5 <= sum(of_grade) <= len(of_grade) - 5
    assert min(Counter(t.kind for t in truths).values()) >= 10
    assert min(Counter(t.style for t in truths).values()) >= 10
    assert {"air", "blower", "passive", "water", "dry", "unknown"} == {
        s.bench.told_cooling for s in drawn
    }
    assert sum(t.throttled for t in truths) >= 10
    assert sum(t.power_limited for t in truths) >= 10


def test_sound_cards_keep_their_limits_in_truth_and_on_the_screen(
    drawn: list[Scenario],
) -> None:
    sound = [s for s in drawn if s.truth.cause == "none"]
    for one in sound:
        assert one.truth.crossing_s is None, one.seed
        assert one.truth.reading_crossing_s is None, one.seed
        assert one.truth.die_c.max() <= one.bench.limit_c
    near = [s.bench.limit_c - s.truth.die_c.max() for s in sound]
    assert min(near) < 4.0
    assert max(near) > 25.0


def test_records_last_60_to_400_s_and_miss_no_time(
    drawn: list[Scenario],
) -> None:
    for one in drawn:
        assert 59.9 <= one.truth.time_s[-1] <= 400.1
        assert (np.diff(one.rows.time_s) > 0.0).all()
        assert np.isfinite(one.truth.die_c).all()
        assert len({len(v) for f in fields(Rows)
                    if (v := getattr(one.rows, f.name)) is not None}) == 1  # fmt: skip


def test_faults_come_before_what_they_do(drawn: list[Scenario]) -> None:
    for one in drawn:
        t = one.truth
        if t.crossing_s is not None and t.cause != "sensor":
            assert t.onset_s is not None
            assert t.onset_s < t.crossing_s, one.seed


def test_the_oracle_is_the_last_stop_that_holds(drawn: list[Scenario]) -> None:
    checked = 0
    for one in drawn:
        t = one.truth
        if t.crossing_s is None or t.latest_stop_s is None:
            assert t.latest_stop_s is None
            continue
        if not np.isfinite(t.latest_stop_s):
            assert one.stopped_at(0.0).exceeds
            continue
        checked += 1
        held = one.stopped_at(t.latest_stop_s)
        assert not held.exceeds, one.seed
        assert held.hottest_c <= one.bench.limit_c
        assert one.stopped_at(t.latest_stop_s + STEP_S + 0.001).exceeds, one.seed
        assert t.latest_stop_s <= t.crossing_s - t.stop_latency_s + 2 * STEP_S
    assert checked > 60


def test_a_stop_changes_nothing_before_it_and_cools_the_die_at_once(
    drawn: list[Scenario],
) -> None:
    for one in drawn[::12]:
        stop_s = 0.6 * float(one.truth.time_s[-1])
        after = one.stopped_at(stop_s)
        before = int((one.rows.time_s < stop_s).sum())
        assert same(one.rows, after.rows, before)
        until = one.truth.die_c[one.truth.time_s <= after.unloaded_s + 2 * STEP_S]
        # a die cannot warm once its own power is cut (tonykordyban.com, in thermal.md section 1)
        first = one.truth.time_s >= stop_s - STEP_S
        loaded = one.truth.die_c[first & (one.truth.time_s <= after.unloaded_s + 2 * STEP_S)]
        assert after.hottest_c <= loaded.max() + 0.4 or one.truth.kind == "dry"
        assert until.max() >= loaded.max() - 1e-9


def test_readings_tell_the_truth_but_for_offset_lag_and_step(
    drawn: list[Scenario],
) -> None:
    for one in drawn:
        t, rows = one.truth, one.rows
        if t.cause == "sensor" or t.off_s is not None:
            continue
        true = np.interp(rows.time_s, t.time_s, t.die_c)
        miss = float(np.nanmedian(rows.die_c - true)) - t.offset_k
        assert abs(miss) < 1.6, one.seed
        if rows.energy_j is not None and np.diff(rows.energy_j).min() >= 0.0:
            span = rows.time_s[-1] - rows.time_s[0]
            part = (t.time_s > rows.time_s[0]) & (t.time_s <= rows.time_s[-1])
            mean = (rows.energy_j[-1] - rows.energy_j[0]) / span
            assert mean == pytest.approx(t.power_w[part].mean(), rel=0.065), one.seed


def test_the_hottest_point_is_up_to_15_k_over_the_die(
    drawn: list[Scenario],
) -> None:
    # thermal.md section 2: hotspot excess 7 to 15 K at full power
    excess = [float((s.truth.hotspot_c - s.truth.die_c).max())
              for s in drawn if s.truth.cause == "none" and s.truth.kind != "dry"]  # fmt: skip
    assert max(excess) < 15.0 * 1.1
    assert float(np.median(excess)) > 5.0


def test_sensors_are_as_bad_as_benches_have(drawn: list[Scenario]) -> None:
    sensors = [s.course.sensors for s in drawn]
    assert {round(1.0 / s.period_s) for s in sensors} == {1, 2, 5, 10, 20}
    assert {s.step_k for s in sensors} == {1.0, 0.125}
    assert 1.0 < max(s.late_s for s in sensors) <= 1.5
    assert 2.0 < max(abs(s.offset_k) for s in sensors) <= 3.0
    for name in ("energy_j", "hotspot_c", "planned_w", "fan_rpm", "fan_percent"):
        has = sum(getattr(s.rows, name) is not None for s in drawn)
        assert 20 < has < COUNT - 20, name
    assert any(np.isnan(s.rows.die_c).any() for s in drawn)
    assert any(np.diff(s.rows.time_s).max() > 8 * s.course.sensors.period_s for s in drawn)
    assert any(s.rows.energy_j is not None and np.diff(s.rows.energy_j).min() < 0.0
               for s in drawn)  # fmt: skip


def test_broken_sensors_read_wrong(drawn: list[Scenario]) -> None:
    seen = set()
    for one in drawn:
        t, rows = one.truth, one.rows
        if t.cause != "sensor" or t.onset_s is None:
            continue
        seen.add(t.detail)
        miss = rows.die_c - np.interp(rows.time_s, t.time_s, t.die_c) - t.offset_k
        before, after = miss[rows.time_s < t.onset_s], miss[rows.time_s >= t.onset_s]
        if t.detail == "sensor_offset":
            assert abs(np.nanmedian(after) - np.nanmedian(before)) > 1.0, one.seed
        if t.detail == "sensor_stuck":
            held = rows.die_c[(rows.time_s >= t.onset_s) & (rows.time_s < t.onset_s + 4.0)]
            assert len(set(held[np.isfinite(held)].tolist())) <= 1, one.seed
        if t.detail == "sensor_jumping":
            assert np.nanstd(after) > np.nanstd(before) or t.severity < 0.3, one.seed
    assert seen == {"sensor_stuck", "sensor_jumping", "sensor_offset", "sensor_late"}
