"""Profiles may ask for the card's own: its link, its power limit, its clocks."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from burnin.card.capabilities import Link, LinkEnd
from burnin.core.ratings import OwnRatings
from burnin.core.reading import NotMeasured, ReadingReason, Verdict
from burnin.core.sample import Sample, Telemetry
from burnin.profile.guards import Guards
from burnin.profile.model import Profile
from burnin.stages.link.expectation import Surroundings, expected_link
from burnin.stages.link.settings import LinkCheck
from burnin.stages.thermal_ramp.meanings import ThermalRampReason, ThermalRampSource
from burnin.stages.thermal_ramp.of_own import clock_readings, in_watts
from burnin.stages.thermal_ramp.ramp_trace import RampTrace
from burnin.stages.thermal_ramp.settings import RampStep, ThermalRamp

UNTOLD = NotMeasured(ReadingReason.NOT_READ())
SOURCE = ThermalRampSource.END_OF_LAST_STEP()
OWN = OwnRatings(own_power_limit_w=320.0, most_core_clock_mhz=2500.0)
AROUND = Surroundings(UNTOLD, UNTOLD, None)


def link(lanes: int | NotMeasured, gts: float | NotMeasured) -> Link:
    end = LinkEnd(
        width_lanes=8, speed_gts=16.0, max_width_lanes=lanes, max_speed_gts=gts, source=SOURCE
    )
    return Link(card=end, port=UNTOLD)


def test_a_link_of_the_card_s_own_expects_what_the_card_says() -> None:
    own = LinkCheck(stage="link", width_lanes="own", generation="own")
    found = expected_link(link(8, 16.0), own, AROUND)
    assert (found.lanes, found.speed_gts, found.lanes_short) == (8.0, 16.0, None)
    silent = expected_link(link(UNTOLD, 16.0), own, AROUND)
    assert silent.unknown is not None


def ramp(**step: float) -> ThermalRamp:
    return ThermalRamp(stage="thermal_ramp", steps=(RampStep(hold_s=20.0, **step),))


def test_a_share_of_the_card_s_own_limit_becomes_watts() -> None:
    held = in_watts(ramp(own_power_share=0.75), OWN)
    assert isinstance(held, ThermalRamp)
    assert held.steps[0].power_w == pytest.approx(240.0)


def test_without_a_limit_a_step_falls_back_or_is_not_held() -> None:
    silent = OwnRatings()
    both = in_watts(ramp(own_power_share=0.75, load_share=0.5), silent)
    assert isinstance(both, ThermalRamp)
    assert both.steps[0].load_share == 0.5
    alone = in_watts(ramp(own_power_share=0.75), silent)
    assert not isinstance(alone, ThermalRamp)
    assert alone.means(ThermalRampReason.OWN_LIMIT_UNKNOWN)


def test_a_step_holds_one_power() -> None:
    with pytest.raises(ValidationError, match="not both"):
        RampStep(hold_s=5.0, power_w=100.0, own_power_share=0.5)


@pytest.mark.parametrize(
    ("clock_mhz", "verdict"),
    [(2400.0, Verdict.PASS), (1500.0, Verdict.FAIL), (2250.0, Verdict.UNSURE)],
)
def test_the_core_clock_is_judged_beside_the_card_s_own(
    clock_mhz: float, verdict: Verdict
) -> None:
    trace = RampTrace(cut=None)
    trace.begin_step()
    for second in range(20):
        told = Telemetry(gpu_temp_c=50.0, core_clock_mhz=clock_mhz)
        trace.add(Sample(float(second), "", "1-thermal_ramp", told, load_share=1.0))
    asked = ThermalRamp(
        stage="thermal_ramp",
        steps=(RampStep(hold_s=20.0, load_share=1.0),),
        core_clock_at_least_share_of_own=0.9,
    )
    [reading] = clock_readings(trace, asked, OWN)
    assert reading.verdict is verdict
    assert list(clock_readings(trace, ramp(load_share=1.0), OWN)) == []
    [silent] = clock_readings(trace, asked, OwnRatings())
    assert silent.verdict is Verdict.NOT_MEASURED


@pytest.mark.parametrize(
    ("guards", "field"),
    [
        ({"gpu_temp_limit_c": 125.0}, "gpu_temp_limit_c = 125"),
        ({"gpu_temp_limit_c": 95.0, "hotspot_temp_limit_c": 124.0}, "hotspot_temp_limit_c = 124"),
        ({"gpu_temp_limit_c": 95.0, "memory_temp_limit_c": 125.0}, "memory_temp_limit_c = 125"),
        ({"gpu_temp_limit_c": 105.0, "stop_on_heat_throttle": False}, "stop_on_heat_throttle"),
    ],
)
def test_a_profile_with_limits_beyond_any_sense_is_refused(
    guards: dict[str, object], field: str
) -> None:
    stages = ({"stage": "link", "width_lanes": 16, "generation": 4},)
    content = {"format": 1, "title": "Beyond sense", "guards": guards, "stages": stages}
    with pytest.raises(ValidationError, match=field):
        Profile.model_validate(content)
    assert list(Guards(gpu_temp_limit_c=105.0).beyond_sense()) == []
