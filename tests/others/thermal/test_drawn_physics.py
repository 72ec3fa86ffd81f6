"""The physics behind drawn scenarios against published numbers and real recordings."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.others.thermal.drawn.benches import KINDS, draw_build
from tests.others.thermal.drawn.network import (
    CONTROL_S,
    Chip,
    Drives,
    FanLaw,
    Floats,
    Network,
    Trace,
    capacities,
    cold_state,
    run,
)

pytestmark = pytest.mark.long
RECORDED = Path(__file__).parent / "recorded"
FIXED = FanLaw("fixed", 0.7, 1.0, 30.0, 20.0, 2.0)
PLAIN = Chip(0.0, 40.0, 0.0, True, 5000.0, 900.0, 2000.0)
BARE = Network(
    die_j_k=0.9, base_j_k=300.0, sink_j_k=1.0, board_j_k=100.0, loop_j_k=3350.0, air_j_k=1e9,
    mount_w_k=12.5, spread_w_k=30.0, spread_still_w_k=0.0, exchange_w_k=10.0,
    exchange_still_w_k=0.01, stream_w_k=1e6, flow_w_k=100.0, flow_still_w_k=0.0,
    base_air_w_k=1e-6, board_base_w_k=1e-6, board_air_w_k=1.0, liquid=True, open_supply=False,
    recirculated=0.0, host_w=0.0, chassis_w_k=1e6, chassis_gain=0.0, chassis_from_c=30.0,
    chassis_span_k=10.0,
)  # fmt: skip


def standing(power: Floats, share: float | Floats, room: float, **over: float) -> Drives:
    """Everything sound and still but for what `over` names."""
    n = len(power)
    one = np.ones(n)
    sound = {"fan": 1.0, "exchange": 1.0, "flow": 1.0, "wet": 1.0, "mount": 1.0, "spread": 1.0}
    values = {name: one * value for name, value in (sound | over).items()}
    return Drives(
        request_w=np.repeat(power[:, None], 20, axis=1), die_share=one * share,
        room_c=one * room, supply_c=one * room, host_fan=one * 0.7, **values,
    )  # fmt: skip


def course(net: Network, drives: Drives, fine: int = 4, law: FanLaw = FIXED) -> Trace:
    start = cold_state(net, float(drives.room_c[0]), float(drives.supply_c[0]), 0.0)
    level = float(drives.room_c[0])
    start = start._replace(die=level, base=level, sink=level, board=level, loop=level, air=level)
    return run(net, law, PLAIN, drives, start._replace(fan=law.floor), fine)


# thermal.md, section 2: joule budget of a dry block, T0 28, limit 90, die to block 0.08 K/W
BUDGET = [(150, 200, 67), (150, 300, 100), (150, 450, 150), (300, 200, 25), (300, 300, 38),
          (300, 450, 57), (450, 200, 12), (450, 300, 17), (450, 450, 26)]  # fmt: skip


@pytest.mark.parametrize(("power", "capacity", "seconds"), BUDGET)
def test_dry_block_reaches_its_limit_when_the_table_says(
    power: float, capacity: float, seconds: float
) -> None:
    net = replace(BARE, base_j_k=capacity)
    drives = standing(np.full(1000, float(power)), 1.0, 28.0, wet=0.0, flow=0.0)
    when = float(np.argmax(course(net, drives).die_c > 90.0)) * CONTROL_S / 4
    assert when == pytest.approx(seconds, abs=0.03 * seconds + 0.6)


def test_a_kilogram_of_aluminium_on_a_tenth_of_a_kelvin_per_watt_takes_90_s() -> None:
    # ednasia.com, as quoted in thermal.md section 1
    net = replace(BARE, base_j_k=5.0, sink_j_k=895.0, liquid=False, spread_w_k=50.0, flow_w_k=0.0)
    law = replace(FIXED, floor=1.0)
    trace = course(net, standing(np.full(5000, 100.0), 1.0, 20.0), law=law)
    rise = trace.die_c - trace.die_c[-1]
    fit = slice(400, 4000)
    slope = np.polyfit(np.arange(400, 4000) * CONTROL_S / 4, np.log(-rise[fit]), 1)[0]
    assert -1.0 / slope == pytest.approx(90.0, rel=0.02)
    # steady state is P times the sum of the resistances: 1/10 + 1/50 + 0.08
    assert trace.die_c[-1] - 20.0 == pytest.approx(100.0 * (0.1 + 0.02 + 0.08), rel=0.005)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("seed", range(4))
def test_heat_is_conserved_and_the_end_is_that_of_the_linear_network(kind: str, seed: int) -> None:
    build = draw_build(np.random.default_rng(seed), kind, True, 1.0)
    net = replace(build.network, chassis_gain=0.0, loop_j_k=600.0)
    wet = 0.0 if kind == "dry" else 1.0
    drives = standing(np.full(60000, 0.3 * build.rated_w), build.die_share, 22.0, wet=wet)
    start = cold_state(net, 22.0, 22.0, 10.0)
    trace = run(net, FIXED, PLAIN, drives, start, 1)
    share, power = build.die_share, 0.3 * build.rated_w
    speed = 0.7
    stream = net.stream_w_k * speed + 3.0 * net.exchange_still_w_k
    film = net.exchange_w_k * speed**0.75 + net.exchange_still_w_k
    out = stream * (1.0 - np.exp(-film / stream)) * (wet if net.liquid else 1.0)
    spread = (net.spread_w_k + net.spread_still_w_k) * wet + 0.4 * (1.0 - wet)
    flow = (net.flow_w_k + net.flow_still_w_k) * wet
    links = [(0, 1, net.mount_w_k), (1, 2, spread), (1, 3, net.board_base_w_k),
             (1, 5, net.base_air_w_k), (3, 5, net.board_air_w_k), (2, 4, flow + 1e-9),
             (4 if net.liquid else 2, 5, out)]  # fmt: skip
    if net.open_supply:
        links = links[:-1]
    matrix, heat = np.zeros((6, 6)), np.zeros(6)
    for a, b, g in links:
        matrix[a, a] += g
        matrix[a, b] -= g
        back = net.recirculated if b == 5 else 1.0
        matrix[b, b] += g * back
        matrix[b, a] -= g * back
    matrix[5, 5] += net.chassis_w_k
    heat[:] = [share * power, 0.0, 0.0, (1 - share) * power, 0.0, 22.0 * net.chassis_w_k]
    heat[5] += net.host_w
    if net.open_supply or not wet:
        matrix[4], heat[4] = np.eye(6)[4], 22.0 if net.open_supply else trace.states[-1].loop
    end = np.linalg.solve(matrix, heat)
    if net.open_supply or net.liquid or kind in ("air", "blower", "stream"):
        assert trace.die_c[-1] == pytest.approx(end[0], abs=0.3)
    last = np.array(
        run(net, FIXED, PLAIN, standing(np.full(1, power), share, 22.0, wet=wet),
            trace.states[-1], 1).states[0][:6]
    )  # fmt: skip
    stored = capacities(net) * (last - np.array(start[:6]))
    if net.open_supply:
        stored[4] = 0.0
    worked = trace.power_w[:-1].sum() * CONTROL_S
    one = run(net, FIXED, PLAIN, standing(np.full(59999, power), share, 22.0, wet=wet), start, 1)
    assert worked - one.heat_out_j == pytest.approx(stored.sum(), abs=1e-4 * worked)


def test_more_power_less_air_and_a_worse_mount_are_hotter_at_every_moment() -> None:
    build = draw_build(np.random.default_rng(5), "air", True, 1.0)
    power = np.full(1500, 150.0)
    base = course(build.network, standing(power, 0.8, 22.0)).die_c
    for changed in (
        standing(power * 1.1, 0.8, 22.0), standing(power, 0.8, 22.0, fan=0.7),
        standing(power, 0.8, 22.0, exchange=0.6), standing(power, 0.8, 22.0, mount=1.3),
        standing(power, 0.8, 22.0, spread=0.5),
    ):  # fmt: skip
        hotter = course(build.network, changed).die_c
        assert (hotter >= base - 0.01).all()
        assert hotter[-1] > base[-1] + 0.3


@pytest.mark.parametrize("kind", KINDS)
def test_fine_steps_agree_with_four_times_finer_ones(kind: str) -> None:
    build = draw_build(np.random.default_rng(11), kind, True, 1.0)
    power = np.where(np.arange(600) % 200 < 100, build.rated_w * 0.4, 20.0)
    drives = standing(power, 0.8, 22.0)
    coarse = course(build.network, drives, 4).die_c[3::4]
    fine = course(build.network, drives, 20).die_c[19::20]
    assert np.abs(coarse - fine).max() < 0.25


# Fitted to each recording alone (three cards of 700 W on three hosts, `recorded/`): die J/K, die to
# base K/W, base J/K, base to fins K/W, fins J/K, fins to air K/W, board to base W/K, chassis air
# J/K, chassis W/K, gain, from °C, span K, room °C, share of memory work; root mean square error K
FITS = {
    "load_steps": (13.77, 0.0374, 207.8, 0.0125, 122.6, 0.0305, 3.1, 400.0, 80.0, 1.18, 32.44,
                   13.69, 23.59, 0.478, 1.4),
    "host1_whole": (10.7, 0.0382, 109.2, 0.0051, 396.5, 0.0231, 12.2, 430.8, 78.75, 1.426, 28.1,
                    7.557, 26.99, 0.8, 1.0),
    "host3_whole": (10.7, 0.0334, 107.0, 0.0051, 211.7, 0.0217, 3.1, 400.0, 46.35, 1.497, 32.47,
                    13.29, 34.29, 0.747, 1.1),
}  # fmt: skip


def fitted(name: str) -> tuple[Network, float, float, float]:
    f = FITS[name]
    stream, wanted = 45.0, min(1.0 / f[5], 0.85 * 45.0)
    net = Network(
        die_j_k=f[0], base_j_k=f[2], sink_j_k=f[4], board_j_k=250.0, loop_j_k=4000.0,
        air_j_k=f[7], mount_w_k=1.0 / f[1], spread_w_k=1.0 / f[3], spread_still_w_k=0.0,
        exchange_w_k=-stream * float(np.log(1.0 - wanted / stream)) / 0.7**0.75,
        exchange_still_w_k=1.0, stream_w_k=stream / 0.7, flow_w_k=0.0, flow_still_w_k=0.0,
        base_air_w_k=0.05, board_base_w_k=f[6], board_air_w_k=1.5, liquid=False,
        open_supply=False, recirculated=0.05, host_w=150.0, chassis_w_k=f[8], chassis_gain=f[9],
        chassis_from_c=f[10], chassis_span_k=f[11],
    )  # fmt: skip
    return net, f[12], f[13], f[14]


@pytest.mark.parametrize("name", sorted(FITS))
def test_the_network_follows_a_real_card(name: str) -> None:
    with (RECORDED / f"{name}_1hz.csv").open() as lines:
        rows = list(csv.DictReader(lines))
    time_s = np.array([float(row["time_s"]) for row in rows])
    die_c = np.array([float(row["die_c"]) for row in rows])
    power = np.array([float(row["power_w"]) for row in rows])
    net, room, memory, error = fitted(name)
    cool = np.array([row.get("work") in ("memory", "link") for row in rows]) & (power > 200.0)
    share = 0.8 * np.where(cool, memory, 1.0)
    steps = np.searchsorted(time_s, np.arange(0.0, time_s[-1] + 1.0, CONTROL_S) + 1e-9, "right") - 1
    rest = standing(np.full(1500, power[0]), 0.8, room)
    start = run(net, FIXED, PLAIN, rest, cold_state(net, room, 20.0, 100.0), 1).states[-1]
    trace = run(net, FIXED, PLAIN, standing(power[steps], share[steps], room), start, 1)
    count = len(trace.die_c) // 5
    mean = trace.die_c[: count * 5].reshape(count, 5).mean(axis=1)[time_s.astype(int)[:count]]
    miss = mean - die_c[: len(mean)]
    assert float(np.sqrt(np.mean(miss**2))) < error
    assert float(np.percentile(np.abs(miss), 95)) < 2.6


def test_the_fitted_benches_lie_within_what_is_drawn() -> None:
    builds = [draw_build(np.random.default_rng(i), "stream", True, 1.0) for i in range(1500)]
    drawn = [b for b in builds if b.rated_w >= 600.0]
    for name in FITS:
        net, room, _, _ = fitted(name)
        for what in ("die_j_k", "base_j_k", "sink_j_k", "mount_w_k", "spread_w_k", "air_j_k",
                     "board_base_w_k", "chassis_w_k", "chassis_gain"):  # fmt: skip
            values = [getattr(b.network, what) for b in drawn]
            assert min(values) * 0.93 <= getattr(net, what) <= max(values) * 1.07, what
        assert 16.0 <= room <= 35.0
