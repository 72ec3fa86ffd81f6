"""A ramp that ends below the card's own power: with a reason, by plan, or unsure with names."""

from __future__ import annotations

import pytest

from burnin.core.decision import USUAL_SENSORS
from burnin.core.ratings import OwnRatings
from burnin.core.reading import NotMeasured, Reading, ReadingReason, Verdict
from burnin.core.sample import Sample, Slowdown, Telemetry
from burnin.stages.thermal_ramp.meanings import (
    ThermalRampReason,
    ThermalRampSource,
    ThermalRampTerm,
)
from burnin.stages.thermal_ramp.own_power_reading import own_power_reading
from burnin.stages.thermal_ramp.ramp_trace import RampTrace
from burnin.stages.thermal_ramp.settings import OwnPlan, RampStep, ThermalRamp

OWN = OwnRatings(
    own_power_limit_w=450.0, set_power_limit_w=450.0, most_core_clock_mhz=2550.0
)
FULL = (RampStep(load_share=1.0, hold_s=60.0),)
NONE: tuple[Slowdown, ...] = ()


def trace_of(
    power_w: float | None, slowdowns: tuple[Slowdown, ...] = NONE, clock_mhz: float = 2000.0
) -> RampTrace:
    trace = RampTrace(idle_power_w=20.0, start_temp_c=30.0, cut=None)
    trace.begin_step()
    unread = NotMeasured(ReadingReason.NOT_READ())
    for tenth in range(600):
        told = Telemetry(
            gpu_temp_c=60.0,
            power_w=unread if power_w is None else power_w,
            core_clock_mhz=clock_mhz,
            throttle_reasons=slowdowns,
        )
        trace.add(Sample(tenth / 10.0, "", "1-thermal_ramp", told, load_share=1.0))
    return trace


def judged(
    trace: RampTrace,
    settings: ThermalRamp | None = None,
    ratings: OwnRatings = OWN,
) -> Reading:
    full = ThermalRamp(stage="thermal_ramp", steps=FULL)
    return own_power_reading(trace, settings or full, ratings, USUAL_SENSORS)


def causes(reading: Reading) -> tuple[object, ...]:
    assert reading.reason is not None
    named = reading.reason["causes"]
    assert isinstance(named, tuple)
    return named


def test_nine_tenths_of_its_own_limit_are_enough() -> None:
    assert judged(trace_of(440.0)).verdict is Verdict.PASS


@pytest.mark.parametrize("power_w", [375.0, 300.0, 60.0])
def test_less_without_a_reason_is_unsure_in_the_order_of_likelihood(power_w: float) -> None:
    found = judged(trace_of(power_w))
    assert found.verdict is Verdict.UNSURE
    assert causes(found) == (
        ThermalRampTerm.SUPPLY_CONTACTS(),
        ThermalRampTerm.SENSE_LINES(),
        ThermalRampTerm.POWER_PLUG(),
        ThermalRampTerm.DRIVER_LIMIT(),
    )


def test_a_lowered_limit_points_at_sense_lines_plug_and_driver() -> None:
    lowered = OwnRatings(own_power_limit_w=450.0, set_power_limit_w=300.0)
    found = judged(trace_of(298.0, (Slowdown.SUSTAINED_POWER,)), ratings=lowered)
    assert found.verdict is Verdict.UNSURE
    assert causes(found)[:3] == (
        ThermalRampTerm.SENSE_LINES(),
        ThermalRampTerm.POWER_PLUG(),
        ThermalRampTerm.DRIVER_LIMIT(),
    )


def test_work_that_is_too_light_is_named_first() -> None:
    found = judged(trace_of(280.0, clock_mhz=2550.0))
    assert found.verdict is Verdict.UNSURE
    assert causes(found)[0] == ThermalRampTerm.LIGHT_WORK()


def test_a_limit_that_the_card_says_is_reached_is_a_reason() -> None:
    found = judged(trace_of(380.0, (Slowdown.POWER_LIMIT,)))
    assert found.verdict is None
    assert found.source is not None
    assert found.source.means(ThermalRampSource.OWN_LIMIT_REACHED)


def test_a_power_that_stands_near_nought_is_not_the_limit_reached() -> None:
    assert judged(trace_of(60.0, (Slowdown.POWER_LIMIT,))).verdict is Verdict.UNSURE


def test_heat_is_a_reason_that_another_reading_judges() -> None:
    found = judged(trace_of(250.0, (Slowdown.HEAT,)))
    assert found.verdict is None
    assert found.source is not None
    assert found.source.means(ThermalRampSource.OWN_LIMIT_HOT)


@pytest.mark.parametrize(
    "settings",
    [
        ThermalRamp(stage="thermal_ramp", steps=(RampStep(load_share=0.5, hold_s=60.0),)),
        ThermalRamp(stage="thermal_ramp", steps=(RampStep(power_w=300.0, hold_s=60.0),)),
        ThermalRamp(stage="thermal_ramp", steps=FULL, heat_budget_j=5000.0),
        ThermalRamp(stage="thermal_ramp", own_plan=OwnPlan(top_w=300.0)),
        ThermalRamp(
            stage="thermal_ramp", own_plan=OwnPlan(top_w=450.0, no_loop=True, budget_j=6000.0)
        ),
    ],
)
def test_a_plan_that_asks_for_less_shows_nothing_and_owes_nothing(settings: ThermalRamp) -> None:
    found = judged(trace_of(200.0), settings)
    assert found.verdict is Verdict.NOT_MEASURED
    assert not found.required
    assert found.reason == ThermalRampReason.ASKS_FOR_LESS()


def test_what_was_cut_short_says_why() -> None:
    trace = trace_of(200.0)
    trace.cut = ThermalRampReason.CUT()
    assert judged(trace).reason == ThermalRampReason.CUT()


def test_a_limit_known_and_a_power_unknown_is_owed() -> None:
    found = judged(trace_of(None))
    assert found.verdict is Verdict.NOT_MEASURED
    assert found.required


def test_a_card_that_names_no_limit_is_not_judged_by_it() -> None:
    found = judged(trace_of(60.0), ratings=OwnRatings())
    assert found.verdict is Verdict.NOT_MEASURED
    assert not found.required
