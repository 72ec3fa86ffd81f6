"""The ramp that plans itself: gentle first, on only when safe, within its joules."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from burnin.report.languages.catalogue import catalogue
from burnin.thermal.estimator import CoolingWatch
from burnin.thermal.inputs import Limits, Row, Setup
from burnin.thermal.meanings import CoolingTerm, RampNote, RampReason
from burnin.thermal.own_plan.ramp_aim import Aim
from burnin.thermal.own_plan.ramp_decision import Do, Next
from burnin.thermal.own_plan.ramp_planner import Ramp
from tests.thermal.cards import DRY, LOOP_LIKE, LOOSE, OneBlock


def ramp(card: OneBlock, aim: Aim, limit_c: float = 90.0) -> tuple[list[Next], Ramp, float]:
    """Decisions that changed something, the ramp, and the hottest true die."""
    watch = CoolingWatch(Setup(Limits(limit_c), None, card.room_c, False))
    planner = Ramp(aim, watch)
    watts, block, sensor, hottest = aim.idle_w, card.room_c, card.room_c, card.room_c
    taken: list[Next] = []
    for k in range(6000):
        now = k * 0.1
        rest = card.room_c + watts / card.away_w_per_k
        block = rest + (block - rest) * math.exp(-0.1 * card.away_w_per_k / card.block_j_per_k)
        die = block + card.mount_k_per_w * watts
        hottest = max(hottest, die)
        sensor += (die - sensor) * (1.0 - math.exp(-0.1))
        row = Row(now, watts, float(round(sensor)))
        watch.see(row)
        if now < 2.0:
            continue
        chosen = planner.decide(row) if taken else planner.begin(row)
        if chosen.do is not Do.HOLD:
            taken.append(chosen)
        if chosen.do in {Do.STOP, Do.DONE}:
            break
        watts = chosen.watts
    return taken, planner, hottest


AIM = Aim(top_w=400.0, idle_w=15.0)


def test_a_sound_card_is_led_to_the_top() -> None:
    taken, _, hottest = ramp(LOOP_LIKE, AIM)
    assert taken[-1].do is Do.DONE
    powers = [n.watts for n in taken if n.do is Do.STEP]
    assert powers == sorted(powers)
    assert powers[-1] == AIM.top_w
    assert hottest < 90.0


def test_a_dry_block_never_takes_more_than_its_joules() -> None:
    taken, planner, hottest = ramp(DRY, AIM)
    assert taken[-1].do is Do.STOP
    assert planner.energy_j <= (AIM.budget_j or 0.0)
    assert hottest < 90.0


def test_a_loose_block_ends_below_the_power_that_it_cannot_take() -> None:
    taken, _, hottest = ramp(LOOSE, AIM)
    assert taken[-1].do is Do.STOP
    why = taken[-1].why
    assert why is not None
    assert why.means(RampReason.WOULD_CROSS)
    assert why["state"] == CoolingTerm.POOR_MOUNT()
    assert hottest < 90.0


def test_a_hot_card_is_given_less_or_nothing_at_first() -> None:
    watch = CoolingWatch(Setup(Limits(90.0), None, 30.0, True))
    planner = Ramp(AIM, watch)
    assert planner.first_w(Row(0.0, 15.0, 30.0)) > planner.first_w(Row(0.0, 15.0, 60.0))
    assert planner.begin(Row(0.0, 15.0, 85.0)).do is Do.STOP


def test_says_before_the_start_what_it_can_prove() -> None:
    [dry] = AIM.promise(dry=True)
    assert dry.means(RampNote.PROMISE_WITHIN_JOULES)
    assert dry["budget_kj"] == 5.0
    said = catalogue("en").say(dry)
    assert "long soak owed" in said
    assert "5.0 kJ" in said
    [climbs] = AIM.promise(dry=False)
    assert climbs == RampNote.PROMISE_TO_THE_TOP(longest_s=AIM.longest_s(), top_w=AIM.top_w)
    assert f"{AIM.longest_s():.0f} s" in catalogue("en").say(climbs)
    rests = replace(AIM, cool_most_s=300.0).promise(dry=False)
    assert rests == (climbs, RampNote.PROMISE_RESTS(rests_s=300.0))


@pytest.mark.parametrize(
    "wrong", [{"top_w": 0.0}, {"budget_j": 0.0}, {"least_s": 90.0}, {"gentle_w": -1.0}]
)
def test_absurd_aims_are_refused(wrong: dict[str, float]) -> None:
    sound = Aim(300.0)
    with pytest.raises(ValueError, match=r"needs|must"):
        replace(sound, **wrong)  # type: ignore[arg-type]
