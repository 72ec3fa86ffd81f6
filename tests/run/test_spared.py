"""What a small supply puts off: also work whose watts only the card itself tells."""

from __future__ import annotations

import pytest

from burnin.profile.model import Profile
from burnin.run.reasons import RunReason
from burnin.run.spared import BenchSays, spared

RAMPS = {
    "share": [{"load_share": 1.0, "hold_s": 10.0}],
    "half": [{"load_share": 0.5, "hold_s": 10.0}],
    "watts": [{"power_w": 200.0, "hold_s": 10.0}],
    "own": [{"own_power_share": 0.9, "hold_s": 10.0}],
}


def profile(ramp: str, power_limit_w: float | None = None) -> Profile:
    guards: dict[str, object] = {"gpu_temp_limit_c": 95.0}
    if power_limit_w is not None:
        guards["power_limit_w"] = power_limit_w
    return Profile.model_validate(
        {
            "format": 1,
            "title": "A ramp",
            "guards": guards,
            "stages": (
                {"stage": "link", "width_lanes": 16, "generation": 4},
                {"stage": "compute"},
                {"stage": "thermal_ramp", "steps": tuple(RAMPS[ramp])},
            ),
        }
    )


@pytest.mark.parametrize("ramp", ["share", "half", "own"])
def test_a_share_of_work_may_draw_what_the_card_may(ramp: str) -> None:
    found = spared(profile(ramp), BenchSays(supply_w=250.0), own_limit_w=450.0)
    assert set(found) == {"2-compute", "3-thermal_ramp"}
    why = found["3-thermal_ramp"]
    assert why.means(RunReason.SUPPLY_TOO_SMALL)
    assert why["needed_w"] == 450.0
    assert not spared(profile(ramp), BenchSays(supply_w=600.0), own_limit_w=450.0)


def test_watts_that_are_held_need_no_more() -> None:
    found = spared(profile("watts"), BenchSays(supply_w=250.0), own_limit_w=450.0)
    assert set(found) == {"2-compute"}


def test_what_nobody_tells_is_not_taken_for_enough() -> None:
    found = spared(profile("share"), BenchSays(supply_w=250.0), own_limit_w=None)
    assert found["3-thermal_ramp"].means(RunReason.SUPPLY_MAY_BE_TOO_SMALL)
    assert "1-link" not in found
    limited = spared(profile("share", 200.0), BenchSays(supply_w=250.0), own_limit_w=None)
    assert limited == {}


def test_a_card_that_draws_little_is_not_held_back() -> None:
    assert not spared(profile("share"), BenchSays(supply_w=250.0), own_limit_w=150.0)
    assert not spared(profile("share"), BenchSays(), own_limit_w=450.0)
