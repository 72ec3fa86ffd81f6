"""The guard that knows the plan: stops what will cross, early; lets alone what will not."""

from __future__ import annotations

import math
from collections.abc import Iterable

import pytest

from burnin.core.reading import NotMeasured, ReadingReason
from burnin.core.sample import Sample, Telemetry
from burnin.guard.forecast_guard import ForecastGuard
from burnin.guard.guard import Guard, Trip
from burnin.guard.meanings import GuardReason, GuardTerm
from burnin.guard.stop_decision import Borne, Decision, Risk
from burnin.report.languages.catalogue import catalogue
from burnin.thermal.forecast import Forecast
from burnin.thermal.inputs import Limits, Plan, Row, Setup, plan_of
from burnin.thermal.states import Cooling
from tests.thermal.cards import BARE_SPOT, DRY, LOOP_LIKE, LOOSE, OneBlock

STEPS = ((3.0, 150.0), (40.0, 300.0), (80.0, 420.0))


def guard_of(
    limits: Limits | None = None, steps: tuple[tuple[float, float], ...] = STEPS
) -> ForecastGuard:
    setup = Setup(limits or Limits(90.0), plan_of(steps, 240.0), ambient_c=24.0, has_fan=False)
    return ForecastGuard(setup)


def first_trip(guard: ForecastGuard, rows: Iterable[Row]) -> tuple[float, Trip] | None:
    for row in rows:
        trip = guard.see(row)
        if trip is not None:
            return row.time_s, trip
    return None


def test_it_is_a_guard() -> None:
    guard: Guard = guard_of()
    assert guard.name == "forecast"
    assert guard.expectation() is None


def test_a_sound_card_runs_to_the_end_and_is_named() -> None:
    guard = guard_of()
    assert first_trip(guard, LOOP_LIKE.rows(STEPS, 200.0)) is None
    assert guard.state()[0] == "healthy loop"
    expected = guard.expectation()
    assert expected is not None
    assert expected.crossing_in_s is None


@pytest.mark.parametrize(("card", "warned_s"), [(DRY, 20.0), (LOOSE, 15.0)])
def test_a_card_that_will_cross_is_warned_of_early_and_stopped_at_the_last_moment(
    card: OneBlock, warned_s: float
) -> None:
    crossing_s = card.crossing_s(STEPS, 90.0)
    guard, warning_s, found = guard_of(), math.inf, None
    for row in card.rows(STEPS, crossing_s):
        found = guard.see(row)
        expected = guard.expectation()
        if expected is not None and expected.crossing_in_s is not None:
            warning_s = min(warning_s, row.time_s)
        if found is not None:
            break
    assert found is not None
    assert warning_s < crossing_s - warned_s
    assert crossing_s - 10.0 < row.time_s < crossing_s - 0.5
    assert found.probability is not None
    assert found.suspect
    assert found.check
    assert found.reason.means(GuardReason.PLAN_CROSSES)
    assert catalogue("en").say(found.reason).count(". ") == 0


def test_a_dry_block_is_suspected_by_name() -> None:
    guard = guard_of()
    assert first_trip(guard, DRY.rows(STEPS, DRY.crossing_s(STEPS, 90.0))) is not None
    chances = guard.watch.probabilities()
    assert chances[Cooling.NO_COOLANT] + chances[Cooling.FLOW_LOST] > 0.7


def test_the_hot_spot_has_its_own_limit() -> None:
    guard = guard_of(Limits(95.0, 105.0))
    found = first_trip(guard, BARE_SPOT.rows(STEPS, 78.0))
    assert found is not None
    assert found[1].signal == "hotspot_temp_c"
    assert found[1].reason["signal"] == GuardTerm.HOT_SPOT()
    assert "takes the hot spot over 105" in catalogue("en").say(found[1].reason)
    assert guard.watch.probabilities()[Cooling.MISSING_PASTE] > 0.6


def test_the_same_card_is_let_alone_under_a_milder_plan() -> None:
    mild = ((3.0, 120.0), (60.0, 150.0))
    assert first_trip(guard_of(steps=mild), LOOSE.rows(mild, 150.0)) is None


def test_a_sample_without_a_temperature_is_passed_over() -> None:
    unread = NotMeasured(ReadingReason.NOT_READ())
    telemetry = Telemetry(gpu_temp_c=unread, power_w=200.0)
    assert guard_of().judge(Sample(0.0, "", "ramp", telemetry)) is None


def forecast(time_s: float, crossings: list[float]) -> Forecast:
    import numpy as np

    times = np.array(crossings)
    crossing = times[np.isfinite(times)]
    middle = float(np.median(crossing)) if len(crossing) else float("inf")
    return Forecast(time_s, len(crossing) / len(times), middle, middle, 0.0, 80.0, times)


INF = float("inf")


NEARS, FAR = Borne(3.0), Borne(30.0)


def test_nothing_is_stopped_on_belief_alone() -> None:
    decision = Decision(Risk())
    assert not decision.stops(forecast(0.0, [0.0] * 10), 0.5, NEARS)
    assert not decision.stops(forecast(0.5, [0.0] * 10), 0.5, NEARS)
    assert decision.stops(forecast(1.5, [0.0] * 10), 0.5, NEARS)


def test_two_looks_are_too_few_however_slow_the_rows_come() -> None:
    decision = Decision(Risk())
    assert not decision.stops(forecast(0.0, [0.0] * 10), 0.5, NEARS)
    assert not decision.stops(forecast(2.0, [0.0] * 10), 0.5, NEARS)
    assert decision.stops(forecast(4.0, [0.0] * 10), 0.5, NEARS)


def looked() -> Decision:
    """Has looked often enough to stop."""
    decision = Decision(Risk())
    for second in range(5):
        assert not decision.stops(forecast(float(second), [INF] * 10), 0.5, FAR)
    return decision


@pytest.mark.parametrize("fault_probability", [0.0, 0.5, 1.0])
def test_a_crossing_further_off_than_some_seconds_stops_nothing(fault_probability: float) -> None:
    """There is time to see whether the card or the model is right."""
    decision = looked()
    for second in range(5, 60):
        far = forecast(float(second), [7.0] * 10)
        assert not decision.stops(far, fault_probability, NEARS)


def test_what_the_readings_do_not_bear_out_stops_nothing() -> None:
    """However sure the model is: of the two the card is right."""
    decision = looked()
    for second in range(5, 60):
        assert not decision.stops(forecast(float(second), [1.0] * 10), 1.0, FAR)
    assert decision.stops(forecast(60.0, [1.0] * 10), 1.0, NEARS)


def test_a_pace_that_no_model_foresees_stops_nothing_here() -> None:
    """That is the simple guards' to judge."""
    decision = looked()
    assert not decision.stops(forecast(5.0, [INF] * 10), 0.5, Borne(0.0))


def test_a_step_of_power_that_no_reading_can_show_yet_is_stopped_if_sure() -> None:
    leaps = Borne(INF, leaps_in_s=0.0)
    assert looked().stops(forecast(5.0, [1.0] * 10), 0.5, leaps)
    assert not looked().stops(forecast(5.0, [1.0] * 5 + [INF] * 5), 0.5, leaps)
    assert not looked().stops(forecast(5.0, [3.0] * 10), 0.5, leaps)


def test_before_a_planned_step_it_is_asked_what_comes_within_two_seconds_of_it() -> None:
    """The next forecast may come too late: the step would be taken first."""
    crosses = forecast(5.0, [3.0] * 9 + [INF])
    assert looked().stops(crosses, 0.99, Borne(INF, leaps_in_s=1.5))
    assert not looked().stops(crosses, 0.99, Borne(INF, leaps_in_s=0.5))
    assert not looked().stops(crosses, 0.99, Borne(INF))
    assert not looked().stops(forecast(5.0, [3.0] * 8 + [INF] * 2), 0.99, Borne(INF, 1.5))


def test_a_faulty_card_is_stopped_on_less() -> None:
    perhaps = forecast(5.0, [5.0] * 2 + [INF] * 8)
    assert looked().stops(perhaps, 0.99, NEARS)
    assert not looked().stops(perhaps, 0.5, NEARS)
    assert not looked().stops(forecast(5.0, [INF] * 10), 0.99, NEARS)


@pytest.mark.parametrize(
    "wrong",
    [
        {"likely": 0.0},
        {"likely": 0.95},
        {"sure": 1.0},
        {"stop_s": 40.0},
        {"leap_s": 4.0},
        {"leap_s": 0.0},
        {"likely_faulty": 0.4},
    ],
)
def test_absurd_risks_are_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="risk needs"):
        Risk(**wrong)


@pytest.mark.parametrize("steps", [(), ((5.0, 100.0), (1.0, 50.0)), ((0.0, -5.0),)])
def test_absurd_plans_are_refused(steps: tuple[tuple[float, float], ...]) -> None:
    with pytest.raises(ValueError, match="plan needs"):
        Plan(steps, 100.0)
