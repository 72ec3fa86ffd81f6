"""What a stage may draw at most, how fast it rises, and which links it fills."""

from __future__ import annotations

import pytest

from burnin.core.ratings import OwnRatings
from burnin.profile.model import Profile
from burnin.run.bench import Options, open_bench_for
from burnin.run.leave.meanings import LeaveTerm
from burnin.run.leave.need import Need, most_w, need_of
from burnin.stages.working import SOFT_START_S


def needs(*stages: dict[str, object], bench: str = "three_cards", at: str = "02:00.0",
          **guards: object) -> list[Need]:  # fmt: skip
    profile = Profile.model_validate(
        {
            "format": 1,
            "title": "A few stages",
            "guards": {"gpu_temp_limit_c": 88.0, **guards},
            "stages": stages,
        }
    )
    card = open_bench_for(Options(simulated=bench, address=at)).card
    return [need_of(stage.stage, stage, profile, card) for stage in profile.stages]


def test_traffic_fills_every_link_on_the_way_and_arithmetic_none() -> None:
    link, compute = needs(
        {"stage": "link", "width_lanes": 8, "generation": 4}, {"stage": "compute"}
    )
    assert link.ways == frozenset({"0000:00:02.0", "0000:61:00.0", "0000:00:1e.1"})
    assert compute.ways == frozenset()


def test_a_ramp_in_watts_is_bounded_by_the_profile_and_rises_slowly() -> None:
    ramp, shares = needs(
        {"stage": "thermal_ramp", "power_rise_w_per_s": 30.0,
         "steps": ({"power_w": 80.0, "hold_s": 5.0},)},
        {"stage": "thermal_ramp", "power_rise_w_per_s": 20.0,
         "steps": ({"load_share": 0.5, "hold_s": 5.0},)},
    )  # fmt: skip
    assert ramp.watts == pytest.approx(1.05 * 80.0)
    assert ramp.bounded_by == LeaveTerm.BY_STAGE()
    assert ramp.step_w == 30.0
    assert shares.watts == pytest.approx(1.05 * 130.0)
    assert shares.bounded_by == LeaveTerm.BY_OWN_LIMIT()
    assert shares.step_w == pytest.approx(1.05 * 130.0 / SOFT_START_S)


def test_a_guard_on_power_bounds_what_a_stage_may_draw() -> None:
    (compute,) = needs({"stage": "compute"}, power_limit_w=100.0)
    assert compute.watts == pytest.approx(105.0)
    assert compute.bounded_by == LeaveTerm.BY_STAGE()


def test_the_higher_of_two_limits_counts_and_none_is_none() -> None:
    assert most_w(OwnRatings(own_power_limit_w=100.0, set_power_limit_w=150.0)) == 157.5
    assert most_w(OwnRatings(set_power_limit_w=100.0)) == 105.0
    assert most_w(OwnRatings()) is None
