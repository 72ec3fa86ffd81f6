"""After a ramp that ended itself the card is loaded no further."""

from __future__ import annotations

import pytest

from burnin.core.reading import Limit, Reading, judge, not_measured
from burnin.stages.registry import stage_kinds
from burnin.stages.thermal_ramp.meanings import ThermalRampNote, ThermalRampReason
from burnin.stages.thermal_ramp.settings import OwnPlan, RampStep, ThermalRamp
from burnin.stages.thermal_ramp.sparing import spares_load
from burnin.thermal.meanings import CoolingCheck, RampReason

CUT = ThermalRampReason.ENDED_BY_PLAN(reason=RampReason.NO_PROOF_OF_COOLANT(spent_kj=4.9))
ENDED: list[Reading] = [
    judge("gpu_temp_max_c", 46.0, "°C", Limit(upper=65.0)),
    not_measured("power_held_w top", "W", CUT),
]


def ramp(*, no_loop: bool = False) -> ThermalRamp:
    plan = OwnPlan(top_w=450.0, budget_j=5000.0, no_loop=no_loop)
    return ThermalRamp(stage="thermal_ramp", own_plan=plan)


def test_a_ramp_that_ended_itself_ends_all_load_and_says_why() -> None:
    told = spares_load(ramp(), ENDED)
    assert told == ThermalRampReason.SPARED(reason=CUT)


def test_a_ramp_that_reached_its_top_ends_nothing() -> None:
    assert spares_load(ramp(), ENDED[:1]) is None


def test_what_was_not_measured_for_another_reason_ends_nothing() -> None:
    unread = not_measured("power_held_w top", "W", ThermalRampReason.UNREAD())
    assert spares_load(ramp(), [unread]) is None


def test_a_block_without_a_loop_ends_by_its_joules_as_it_should() -> None:
    assert spares_load(ramp(no_loop=True), ENDED) is None


@pytest.mark.parametrize("own", [False, True])
def test_what_a_ramp_gave_up_on_a_warning_spares_the_card_what_follows(own: bool) -> None:
    steps = ThermalRamp(stage="thermal_ramp", steps=(RampStep(power_w=200.0, hold_s=10.0),))
    gave_up = ThermalRampReason.ENDED_ON_WARNING(
        asked=ThermalRampNote.POWER(power_w=430.0),
        warning=ThermalRampNote.WARNING_WAIT(),
        check=CoolingCheck.MOUNT(),
    )
    unshown = not_measured("load_as_planned", "", gave_up)
    told = spares_load(ramp() if own else steps, [*ENDED[:1], unshown])
    assert told == ThermalRampReason.SPARED(reason=gave_up)


def test_other_stages_and_plans_from_outside_end_nothing() -> None:
    steps = ThermalRamp(stage="thermal_ramp", steps=(RampStep(power_w=200.0, hold_s=10.0),))
    assert spares_load(steps, ENDED) is None
    kinds = stage_kinds()
    assert {name for name, kind in kinds.items() if kind.spares_load} == {"thermal_ramp"}
