"""The evaluation itself: its physics, its rules, and a small run of it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate

from tests.evaluation.baselines import limit_less, line_fit, oracle, slope_over, slopes
from tests.evaluation.cooling import evaluate
from tests.evaluation.late import begun_late, held, trailing
from tests.evaluation.physics import Array, Heat
from tests.evaluation.planned import run
from tests.evaluation.scenarios import KINDS, Scenario, draw, play
from tests.evaluation.score import score


@pytest.fixture(scope="module")
def scenarios() -> list[Scenario]:
    return play(48, seed=12)


@pytest.mark.long
def test_the_same_seed_gives_the_same_scenarios(scenarios: list[Scenario]) -> None:
    again = play(48, seed=12)
    other = play(48, seed=13)
    assert all((a.die_c == b.die_c).all() for a, b in zip(scenarios, again, strict=True))
    pairs = zip(scenarios, other, strict=True)
    assert any(a.setting.limit_c != b.setting.limit_c for a, b in pairs)


def test_every_kind_is_there_and_plans_suit_sound_cards(scenarios: list[Scenario]) -> None:
    assert {s.setting.kind for s in scenarios} == set(KINDS)
    for s in scenarios:
        if s.setting.kind.startswith("healthy"):
            assert s.headroom_k > 0.0
        assert 80.0 <= s.setting.limit_c <= 105.0
        assert all(100.0 <= w <= 500.0 for _, w in s.setting.plan)


def test_physics_of_a_loop_equals_scipys_integration() -> None:
    settings, cards = draw(16, seed=3)
    index = np.array([i for i, s in enumerate(settings) if s.kind == "healthy loop"][:1])
    one = cards.take(index)
    heat = Heat(one, np.array([15.0]), np.array([0.0]))
    first = heat.nodes[:, 0].copy()
    c = {k: float(v[0]) for k, v in vars(one).items()}
    power_w = 300.0

    def slope(_: float, y: Array) -> list[float]:
        die, lid, base, body, board, water, loop = y
        die_lid = (die - lid) / c["die_lid_k_per_w"]
        lid_base = (lid - base) / c["lid_base_k_per_w"]
        base_body = (base - body) / c["base_body_k_per_w"]
        board_base = (board - base) * c["board_base_w_per_k"]
        above = max(body - c["room_c"], 0.1)
        still = (body - c["room_c"]) * c["still_air_w_per_k"] * (above / 40.0) ** 0.25
        wet = (body - water) * c["block_water_w_per_k"]
        flow = (water - loop) * c["flow_w_per_k"]
        return [
            (c["die_share"] * power_w - die_lid) / c["die_j_per_k"],
            (die_lid - lid_base) / c["lid_j_per_k"],
            (lid_base + board_base - base_body) / c["base_j_per_k"],
            (base_body - still - wet) / c["body_j_per_k"],
            (
                (1.0 - c["die_share"]) * power_w
                - board_base
                - (board - c["room_c"]) * c["board_room_w_per_k"]
            )
            / c["board_j_per_k"],
            (wet - flow) / c["block_water_j_per_k"],
            (flow - (loop - c["room_c"]) * c["radiator_w_per_k"]) / c["loop_water_j_per_k"],
        ]

    exact = integrate.solve_ivp(slope, (0.0, 60.0), first, method="LSODA", rtol=1e-8, atol=1e-8)
    heat.advance(np.array([power_w]), 60.0)
    assert np.abs(heat.nodes[:, 0] - exact.y[:, -1]).max() < 0.1


def test_slopes_are_least_squares() -> None:
    codes = np.array([math.floor(0.3 * k) for k in range(100)], dtype=float)
    t = np.arange(30) * 0.1
    assert slopes(codes, 3.0)[99] == pytest.approx(np.polyfit(t, codes[70:], 1)[0])
    assert slopes(codes, 3.0)[28] == 0.0


def test_baselines_do_what_their_names_say(scenarios: list[Scenario]) -> None:
    for s in scenarios:
        stop = limit_less(s)
        if stop is not None:
            k = round(stop * 10)
            near = s.seen_die_c[k] >= s.setting.limit_c - 3.0
            spot = s.seen_hotspot_c
            limit = s.setting.hotspot_limit_c
            assert near or (spot is not None and limit is not None and spot[k] >= limit - 3.0)
        told = oracle(s, 1.0)
        assert (told is None) == math.isinf(s.crossing_s)
    eager = score(scenarios, [slope_over(s) for s in scenarios])
    assert eager.false.value > 0.5
    near_sighted = score(scenarios, [line_fit(s, 5.0) for s in scenarios])
    far_sighted = score(scenarios, [line_fit(s, 20.0) for s in scenarios])
    assert far_sighted.false.hits > near_sighted.false.hits
    assert far_sighted.missed.hits < near_sighted.missed.hits


@pytest.mark.long
@pytest.mark.parametrize("count", [16, pytest.param(48, marks=pytest.mark.many)])
def test_a_small_run_of_the_evaluation_holds_the_floors(count: int) -> None:
    """Scenarios of their own seed: too few for rates, enough to see a guard that broke."""
    scenarios, outcomes = evaluate(count, seed=801)
    got = score(scenarios, [o.stop_s for o in outcomes])
    assert got.false.hits == 0
    assert got.early.hits == 0
    assert got.missed_of_the_grave.hits == 0
    assert got.missed.hits <= 1
    assert 2.0 <= got.lead_median_s[0] <= 12.0  # a warning comes early, a stop does not
    named = [o.named for o in outcomes if o.named.state in KINDS]
    assert sum(n.state == n.true_kind for n in named) >= 0.85 * len(named)


@pytest.mark.long
def test_a_few_planned_ramps_stay_below_every_limit_and_within_their_joules() -> None:
    settings, endings = run(16, seed=802)
    assert not any(e.crossed for e in endings)
    for s, e in zip(settings, endings, strict=True):
        if s.kind.startswith("healthy"):
            assert e.how == "done"
        if s.kind == "no coolant":
            assert e.how == "stop"
            assert e.energy_j <= 5000.0


def test_power_read_late_keeps_its_energy_and_held_codes_are_those_before() -> None:
    power_w = np.repeat([20.0, 300.0, 20.0], 300)
    late_w = trailing(power_w, 1.0)
    assert late_w.sum() == pytest.approx(power_w.sum(), rel=2e-3)
    assert late_w[310] == pytest.approx(300.0 - 280.0 * math.exp(-1.1), abs=0.1)
    codes = np.arange(30.0)
    assert held(codes, 1.0).tolist() == [0.0] * 10 + [10.0] * 10 + [20.0] * 10
    assert (held(codes, 0.1) == codes).all()


def test_a_record_begun_late_shows_the_same_card_from_then_on(scenarios: list[Scenario]) -> None:
    begun = [(s, begun_late(s, 10.0)) for s in scenarios]
    changed = [(whole, late) for whole, late in begun if late is not whole]
    assert len(changed) > len(scenarios) // 4
    for whole, late in changed:
        cut_s = whole.time_s[-1] - late.time_s[-1]
        assert late.time_s[0] == pytest.approx(0.0, abs=1e-6)
        assert late.power_w[0] > 60.0
        assert late.crossing_s == pytest.approx(whole.crossing_s - cut_s)
        assert late.setting.plan[0][0] == 0.0
        assert late.setting.watts(late.time_s)[-1] == whole.setting.watts(whole.time_s)[-1]
