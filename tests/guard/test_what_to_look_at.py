"""After a stop for heat: every cause that is still likely, each with its check, in order."""

from __future__ import annotations

from dataclasses import replace

import pytest

from burnin.core.sample import Sample, Telemetry
from burnin.guard.factory import GuardFacts, make_guards
from burnin.guard.guard import Trip
from burnin.guard.meanings import GuardReason
from burnin.profile.guards import Guards
from burnin.thermal.inputs import plan_of
from burnin.thermal.meanings import CoolingCause, CoolingCheck
from burnin.thermal.states import CooledBy
from tests.thermal.cards import BARE_SPOT, DRY, LOOSE, OneBlock

STEPS = ((3.0, 150.0), (40.0, 300.0), (80.0, 420.0))
CHECK_OF = {
    CoolingCause.DRY_BLOCK.value: CoolingCheck.LOOP_FILLED,
    CoolingCause.PUMP.value: CoolingCheck.PUMP,
    CoolingCause.MOUNT.value: CoolingCheck.MOUNT,
    CoolingCause.PASTE.value: CoolingCheck.PASTE,
    CoolingCause.CLOGGED.value: CoolingCheck.DUST,
    CoolingCause.PLAN_FOR_LOOP.value: CoolingCheck.LESS_FOR_LOOP,
    CoolingCause.UNKNOWN.value: CoolingCheck.UNKNOWN,
}


def stopped(card: OneBlock, *, forecast: bool = True, rows_s: float = 200.0) -> Trip:
    """The stop of a card under its plan, by the guards of a profile."""
    settings = Guards(gpu_temp_limit_c=90.0, hotspot_temp_limit_c=100.0, forecast=forecast)
    facts = GuardFacts(cooled_by=CooledBy.WATER, plan=plan_of(STEPS, 240.0), ambient_c=24.0)
    guards = make_guards(settings, facts)
    for row in card.rows(STEPS, rows_s):
        telemetry = Telemetry(gpu_temp_c=row.die_c, power_w=row.power_w)
        if row.hotspot_c is not None:
            telemetry = replace(telemetry, hotspot_temp_c=row.hotspot_c)
        trip = guards.judge(Sample(row.time_s, "", "1", telemetry, load_w=row.power_w or None))
        if trip is not None:
            return trip
    raise AssertionError("no guard ended the load")


@pytest.mark.parametrize(
    ("card", "first"),
    [
        (DRY, CoolingCause.DRY_BLOCK),
        (LOOSE, CoolingCause.MOUNT),
        (BARE_SPOT, CoolingCause.PASTE),
    ],
)
def test_the_likeliest_comes_first_and_each_has_its_own_check(
    card: OneBlock, first: CoolingCause
) -> None:
    trip = stopped(card)
    chances = [one.probability for one in trip.likely]
    assert trip.likely[0].cause.means(first)
    assert chances == sorted(chances, reverse=True)
    assert 0.5 < sum(chances) <= 1.0 + 1e-9
    assert all(one.check.means(CHECK_OF[one.cause.code]) for one in trip.likely)


def test_a_plain_limit_without_a_model_has_but_its_own_suspect() -> None:
    trip = stopped(LOOSE, forecast=False)
    assert trip.reason.means(GuardReason.NEAR_LIMIT)
    assert trip.likely == ()


def test_a_stop_that_is_not_for_heat_names_no_cause_of_the_cooling() -> None:
    guards = make_guards(Guards(gpu_temp_limit_c=90.0, forecast=True))
    for row in LOOSE.rows(STEPS, 20.0):
        telemetry = Telemetry(gpu_temp_c=row.die_c, power_w=row.power_w)
        assert guards.judge(Sample(row.time_s, "", "1", telemetry, load_w=150.0)) is None
    for number in range(100):
        gone = Sample(20.0 + 0.1 * number, "", "1", Telemetry(), load_w=150.0, present=False)
        trip = guards.judge(gone)
        if trip is not None:
            break
    assert trip is not None
    assert trip.likely == ()
