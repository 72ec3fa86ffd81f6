"""After a ramp that ended itself the card is loaded no further."""

from __future__ import annotations

from burnin.core.reading import Limit, Reading, judge, not_measured
from burnin.profile.model import Compute
from burnin.profile.ramp import OwnPlan, RampStep, ThermalRamp
from burnin.stages.thermal_ramp.further_load import ENDED_BY_PLAN, no_more_load

CUT = f"{ENDED_BY_PLAN}: 4.9 kJ spent and no proof of coolant"
ENDED: list[Reading] = [
    judge("gpu_temp_max_c", 46.0, "°C", Limit(upper=65.0)),
    not_measured("power_held_w top", "W", CUT),
]


def ramp(*, no_loop: bool = False) -> ThermalRamp:
    plan = OwnPlan(top_w=450.0, budget_j=5000.0, no_loop=no_loop)
    return ThermalRamp(stage="thermal_ramp", own_plan=plan)


def test_a_ramp_that_ended_itself_ends_all_load_and_says_why() -> None:
    told = no_more_load(ramp(), ENDED)
    assert "no proof of coolant" in told
    assert "put the cooling right first" in told


def test_a_ramp_that_reached_its_top_ends_nothing() -> None:
    assert not no_more_load(ramp(), ENDED[:1])


def test_a_block_without_a_loop_ends_by_its_joules_as_it_should() -> None:
    assert not no_more_load(ramp(no_loop=True), ENDED)


def test_other_stages_and_plans_from_outside_end_nothing() -> None:
    steps = ThermalRamp(stage="thermal_ramp", steps=(RampStep(power_w=200.0, hold_s=10.0),))
    assert not no_more_load(steps, ENDED)
    assert not no_more_load(Compute(stage="compute"), ENDED)
