"""What a ramp that plans itself adds for a bench: rests, a known missing loop, less than asked."""

from __future__ import annotations

import math
from collections.abc import Iterator

import pytest

from burnin.thermal.estimator import CoolingWatch
from burnin.thermal.inputs import Limits, Row, Setup
from burnin.thermal.meanings import RampReason
from burnin.thermal.own_plan.ramp_aim import Aim
from burnin.thermal.own_plan.ramp_decision import Do, Next
from burnin.thermal.own_plan.ramp_planner import Ramp
from burnin.thermal.states import DRY_STATES, CooledBy
from tests.thermal.cards import DRY, LOOP_LIKE, OneBlock

SLOW = OneBlock(0.06, 600.0, 4.0)
"""A cooler that takes minutes to come to rest."""


def go(
    card: OneBlock, aim: Aim, cooled_by: CooledBy, warm_k: float = 0.0, limit_c: float = 80.0
) -> Iterator[tuple[Row, Next, Ramp]]:
    """Rows and decisions until the ramp ends; raises AssertionError where it never does."""
    watch = CoolingWatch(Setup(Limits(limit_c), None, card.room_c, cooled_by=cooled_by))
    ramp = Ramp(aim, watch)
    watts, block, begun = aim.idle_w, card.room_c + warm_k, False
    sensor = block
    for k in range(20_000):
        rest = card.room_c + watts / card.away_w_per_k
        block = rest + (block - rest) * math.exp(-0.1 * card.away_w_per_k / card.block_j_per_k)
        die = block + card.mount_k_per_w * watts
        assert die < limit_c
        sensor += (die - sensor) * -math.expm1(-0.1)
        row = Row(k * 0.1, watts, float(round(sensor)))
        watch.see(row)
        if k < 20:
            continue
        chosen = ramp.decide(row) if begun else ramp.begin(row)
        begun = begun or chosen.do is Do.STEP
        yield row, chosen, ramp
        if chosen.do in (Do.STOP, Do.DONE):
            return
        watts = chosen.watts or aim.idle_w
    raise AssertionError("the ramp never ended")


def changes(decisions: Iterator[tuple[Row, Next, Ramp]]) -> list[tuple[Row, Next]]:
    """Decisions that began something else than before."""
    found: list[tuple[Row, Next]] = []
    for row, chosen, _ in decisions:
        if chosen.do is not Do.HOLD and (not found or found[-1][1].do != chosen.do or chosen.watts):
            found.append((row, chosen))
    return found


def test_a_warm_card_rests_before_and_between_steps_and_reaches_the_top() -> None:
    aim = Aim(300.0, idle_w=15.0, budget_j=None, cool_most_s=600.0)
    found = changes(go(SLOW, aim, CooledBy.FANS, warm_k=30.0))
    assert [n.do for _, n in found] == [Do.COOL, Do.STEP, Do.STEP, Do.COOL, Do.STEP, Do.DONE]
    rested_from, rested_to = found[3][0], found[4][0]
    assert rested_to.die_c < rested_from.die_c - 10.0


def test_without_time_to_rest_the_same_card_ends_below_the_top() -> None:
    aim = Aim(300.0, idle_w=15.0, budget_j=None)
    found = changes(go(SLOW, aim, CooledBy.FANS, warm_k=10.0))
    assert Do.COOL not in [n.do for _, n in found]
    assert found[-1][1].do is Do.STOP
    why = found[-1][1].why
    assert why is not None
    assert why.means(RampReason.WOULD_CROSS)
    assert why["next_w"] == 300.0


def test_a_card_that_gets_no_cooler_does_not_rest_for_ever() -> None:
    aim = Aim(300.0, idle_w=15.0, budget_j=None, cool_most_s=6000.0)
    found = changes(go(LOOP_LIKE, aim, CooledBy.WATER, limit_c=58.0))
    assert found[0][1].do is Do.COOL
    assert found[1][0].time_s < 120.0


@pytest.mark.parametrize("budget_j", [2500.0, 6000.0])
def test_a_known_missing_loop_spends_its_budget_and_no_more(budget_j: float) -> None:
    aim = Aim(300.0, idle_w=15.0, budget_j=budget_j, dry=True)
    spent, last = 0.0, None
    for _, chosen, ramp in go(DRY, aim, CooledBy.WATER):
        spent, last = ramp.energy_j, chosen
    assert last is not None
    assert last.do is Do.STOP
    assert 0.9 * budget_j < spent <= budget_j
    assert last.why is not None
    assert last.why.means(RampReason.DRY_BUDGET_SPENT)


def test_what_the_bench_vouches_for_decides_between_states() -> None:
    watch = CoolingWatch(Setup(Limits(80.0), None, 24.0, cooled_by=CooledBy.WATER))
    watch.see(Row(0.0, 15.0, 25.0))
    assert sum(watch.probabilities()[s] for s in DRY_STATES) < 0.5
    watch.assume(DRY_STATES)
    assert sum(watch.probabilities()[s] for s in DRY_STATES) > 0.99


def test_full_work_below_a_step_makes_it_the_top_one() -> None:
    aim = Aim(400.0, idle_w=15.0, soak_s=30.0)
    powers, ended_s, since_s = [], 0.0, 0.0
    for row, chosen, ramp in go(LOOP_LIKE, aim, CooledBy.WATER):
        if chosen.do is Do.STEP:
            powers.append(chosen.watts)
        if len(powers) == 2 and not since_s:
            since_s = row.time_s
            assert ramp.full_work(row)
            assert not ramp.full_work(row)
        ended_s = row.time_s
    assert len(powers) == 2
    assert powers[-1] < 400.0
    assert ended_s - since_s == pytest.approx(30.0, abs=1.1)


def test_the_longest_time_of_a_missing_loop_is_its_joules() -> None:
    aim = Aim(300.0, idle_w=15.0, budget_j=6000.0, dry=True)
    assert aim.longest_s(115.0) == pytest.approx(60.0)
    with pytest.raises(ValueError, match="budget"):
        Aim(300.0, budget_j=None, dry=True)
