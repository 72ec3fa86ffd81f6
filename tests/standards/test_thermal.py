"""The thermal model and its statistics against scipy, closed forms and published tables."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from scipy import integrate, optimize, special, stats

from burnin.thermal import heat_network as network
from burnin.thermal.change_detector import ALARM, ALLOWANCE, run_length
from burnin.thermal.draws_ahead import Walk
from burnin.thermal.estimator import CoolingWatch
from burnin.thermal.inputs import Limits, Plan, Row, Setup
from burnin.thermal.priors import (
    ALUMINIUM_J_PER_KG_K,
    COPPER_J_PER_KG_K,
    WATER_J_PER_KG_K,
    block_capacity_j_per_k,
    hypotheses,
)
from burnin.thermal.sensor_steps import cut
from burnin.thermal.starting_state import Start as BankStart
from burnin.thermal.starting_state import begin
from burnin.thermal.states import Cooling
from burnin.thermal.trials.expected_reading import expected_die_c
from tests.evaluation.score import wilson


def one(state: Cooling, has_fan: bool) -> tuple[network.Array, network.Traits]:
    """The prior mean of one hypothesis as a single state, started at 30 °C in a room of 24 °C."""
    hypothesis = next(h for h in hypotheses(has_fan) if h.state is state)
    mean, _ = begin(hypothesis, BankStart(30.0, 0.0, 0.0, 24.0, 1.0))
    traits = network.Traits(
        np.array([hypothesis.air]),
        np.array([hypothesis.loop]),
        np.array([hypothesis.stops]),
        np.array([hypothesis.fan_turns]),
    )
    return mean[None, :], traits


def run(
    x: network.Array, traits: network.Traits, power_w: float, seconds: float, dt_s: float
) -> network.Array:
    for _ in range(round(seconds / dt_s)):
        x = network.advance(x, traits, dt_s, power_w, 0.0)
    return x


@pytest.mark.parametrize("dt_s", [0.1, 1.0, 2.0])
def test_step_of_one_block_equals_the_closed_form(dt_s: float) -> None:
    """T(t) = T_0 + (T_inf - T_0)(1 - exp(-t/RC)): the step response of one RC element."""
    x, traits = one(Cooling.NO_COOLANT, has_fan=False)
    away, capacity = math.exp(x[0, network.AWAY]), math.exp(x[0, network.CAPACITY])
    start_c = float(x[0, network.BLOCK])
    after = run(x, traits, 150.0, 60.0, dt_s)
    rest_c = 24.0 + 150.0 / away
    expected = rest_c + (start_c - rest_c) * math.exp(-60.0 * away / capacity)
    assert float(after[0, network.BLOCK]) == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(("dt_s", "within_k"), [(0.25, 0.1), (1.0, 0.4), (2.0, 0.8)])
def test_step_of_a_loop_equals_scipys_integration(dt_s: float, within_k: float) -> None:
    """The two-mass ladder with sensor lag against scipy.integrate.solve_ivp (LSODA)."""
    x, traits = one(Cooling.HEALTHY_LOOP, has_fan=False)
    p = np.exp(x[0])
    room_c, power_w = 24.0, 400.0

    def slope(_: float, y: network.Array) -> list[float]:
        block, water, sensor = y
        flow = p[network.AWAY] * (block - water)
        die = block + p[network.MOUNT] * power_w
        return [
            (power_w - flow) / p[network.CAPACITY],
            (flow - p[network.RADIATOR] * (water - room_c)) / p[network.LAST],
            (die - sensor) / p[network.LAG],
        ]

    first = x[0, [network.BLOCK, network.WATER, network.SENSOR]]
    exact = integrate.solve_ivp(slope, (0.0, 90.0), first, method="LSODA", rtol=1e-9, atol=1e-9)
    after = run(x, traits, power_w, 90.0, dt_s)[0]
    got = after[[network.BLOCK, network.WATER, network.SENSOR]]
    assert np.abs(got - exact.y[:, -1]).max() < within_k


def test_the_forecasts_walk_is_the_filters_model() -> None:
    x, traits = one(Cooling.HEALTHY_LOOP, has_fan=False)
    walk = Walk(x, traits, np.zeros(1), np.ones(1))
    for _ in range(60):
        walk.step(1.0, 300.0)
    after = run(x, traits, 300.0, 60.0, 1.0)[0]
    die_c = after[network.BLOCK] + math.exp(after[network.MOUNT]) * 300.0
    assert float(walk.die_c(300.0)[0]) == pytest.approx(die_c, abs=1e-9)


def test_heat_capacities_are_the_handbooks() -> None:
    """Specific heats: copper 385, aluminium 897 J/kgK (CRC Handbook of Chemistry and Physics,
    25 °C; from memory), water 4186 J/kgK at 15 °C (the thermochemical calorie's definition)."""
    assert pytest.approx(385.0, rel=0.005) == COPPER_J_PER_KG_K
    assert pytest.approx(897.0, rel=0.005) == ALUMINIUM_J_PER_KG_K
    assert pytest.approx(4186.0, rel=0.002) == WATER_J_PER_KG_K
    assert block_capacity_j_per_k(0.7, 0.1) == pytest.approx(359.0, abs=1.0)
    assert block_capacity_j_per_k(0.4, 0.5) == pytest.approx(603.0, abs=1.0)
    assert block_capacity_j_per_k(0.7, 0.1, 0.06) == pytest.approx(610.0, abs=1.0)


def test_a_dry_block_is_hot_within_two_minutes() -> None:
    """Common practice, no source: an unfed block is hot within one to two minutes at desktop
    power."""
    x, traits = one(Cooling.NO_COOLANT, has_fan=False)
    after = run(x, traits, 300.0, 120.0, 1.0)
    assert float(after[0, network.SENSOR]) > 90.0


@pytest.mark.parametrize(
    ("shift", "published"), [(0.0, 938.0), (0.5, 38.0), (1.0, 10.4), (2.0, 4.01)]
)
def test_cusum_run_lengths_against_the_published_table(shift: float, published: float) -> None:
    """One-sided CUSUM, k = 0.5, h = 5: average run lengths.

    938: NIST Dataplot, CUSUM ARL command. 38.0, 10.4 and 4.01: table of the NIST/SEMATECH
    e-Handbook 6.3.2.3 for h = 5 (values from memory; two-sided, where the other side hardly
    matters once the mean has shifted).
    """
    assert run_length(5.0, 0.5, shift) == pytest.approx(published, rel=0.05, abs=0.2)


def test_two_sided_run_length_is_the_handbooks() -> None:
    """NIST/SEMATECH e-Handbook 6.3.2.3: h = 5, k = 0.5, no shift: ARL 465 (from memory)."""
    assert run_length(5.0, 0.5) / 2.0 == pytest.approx(465.0, rel=0.02)


def test_the_designed_false_alarm_rate_is_what_is_stated() -> None:
    hours = run_length(ALARM, ALLOWANCE) / 3600.0
    assert 35.0 < hours < 45.0
    assert run_length(ALARM, ALLOWANCE, 1.0) == pytest.approx(20.0, abs=1.0)


@pytest.mark.parametrize(("mean", "sd"), [(0.0, 0.4), (0.7, 0.5), (-1.6, 1.0), (2.0, 0.6)])
def test_a_cut_gaussian_equals_scipys(mean: float, sd: float) -> None:
    lower, upper = -0.5, 0.5
    a, b = (lower - mean) / sd, (upper - mean) / sd
    reference = stats.truncnorm(a, b, loc=mean, scale=sd)
    inside, shift, ratio = cut(mean, sd, lower, upper)
    assert inside == pytest.approx(special.ndtr(b) - special.ndtr(a), rel=1e-9)
    assert mean + shift * sd == pytest.approx(reference.mean(), abs=1e-6)
    assert ratio * sd * sd == pytest.approx(reference.var(), rel=1e-4)


@pytest.mark.parametrize(("hits", "of"), [(0, 500), (2, 500), (10, 1000), (37, 40)])
def test_score_intervals_equal_scipys(hits: int, of: int) -> None:
    reference = stats.binomtest(hits, of).proportion_ci(method="wilson")
    assert wilson(hits, of) == pytest.approx((reference.low, reference.high), abs=1e-6)


def load_steps(data: Path) -> list[tuple[float, float, float]]:
    """(time, power, die temperature) of a real data-centre card, 20 Hz."""
    with (data / "load_steps.csv").open(encoding="utf-8") as stream:
        return [
            (float(r["time_s"]), float(r["power_average_w"]), float(r["gpu_temp_c"]))
            for r in csv.DictReader(stream)
        ]


def test_a_real_cards_readings_are_foreseen_while_power_is_steady(data: Path) -> None:
    """Forecasts made each second of the steady minute of a real card, against what came.

    Power there is a bfloat16 product at full duty under the card's own cap; in the steps before it
    an open-loop duty makes the power reading alias, so that only this part has a known power.
    """
    rows = load_steps(data)
    watch = CoolingWatch(Setup(Limits(95.0)))
    at = {round(t * 20): c for t, _, c in rows}
    off: dict[int, list[float]] = {10: [], 30: []}
    for k, (t, watts, die_c) in enumerate(rows):
        watch.see(Row(t, watts, die_c))
        if k % 20:
            continue
        for ahead_s, errors in off.items():
            if t >= 80.0 and t + ahead_s < 129.0:
                expected = expected_die_c(watch, Plan(((t, watts),), t + ahead_s), ahead_s)
                errors.append(abs(at[round((t + ahead_s) * 20)] - expected.value))
    assert len(off[10]) > 30
    assert np.percentile(off[10], 90) < 2.0
    assert np.percentile(off[30], 90) < 3.0


def test_a_real_cards_cool_down_gives_the_block_scipy_finds(data: Path) -> None:
    """Time constant of the cool-down: log-linear fit against scipy's curve fit."""
    rows = [(t - 131.0, c) for t, _, c in load_steps(data) if 131.0 <= t <= 165.0]
    t, c = np.array(rows).T

    def decay(t: network.Array, end_c: float, above_k: float, tau_s: float) -> network.Array:
        result: network.Array = end_c + above_k * np.exp(-t / tau_s)
        return result

    (end_c, above_k, tau_s), _ = optimize.curve_fit(decay, t, c, p0=(35.0, 20.0, 10.0))
    assert 8.0 < tau_s < 20.0
    log_fit = np.polyfit(t[c > end_c + 2.0], np.log(c[c > end_c + 2.0] - end_c), 1)
    assert -1.0 / log_fit[0] == pytest.approx(tau_s, rel=0.15)
    assert above_k > 10.0
