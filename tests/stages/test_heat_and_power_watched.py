"""What the course of a temperature tells of sensor and pump, and two meters of each other."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from burnin.core.reading import Verdict
from burnin.core.sample import Sample, Slowdown, Telemetry
from burnin.stages.whole_run.difference_watch import DifferenceWatch
from burnin.stages.whole_run.fan_run_down import FanRunDown
from burnin.stages.whole_run.heat_turn import HeatTurn
from burnin.stages.whole_run.meanings import WholeRunReason, WholeRunSource
from burnin.stages.whole_run.power_watch import PowerWatch, counter_readings
from burnin.thermal.heat_course import HeatCourse

SOURCE = WholeRunSource.SAMPLES(samples_count=1, from_s=0.0, to_s=1.0)
OfTime = Callable[[float], float]


def row(at_s: float, share: float = 1.0, **told: float) -> Sample:
    return Sample(at_s, "", "1-thermal_ramp", Telemetry(**told), load_share=share)  # type: ignore[arg-type]


def towards(end: float, rise: float, time_s: float) -> OfTime:
    return lambda at_s: end - rise * math.exp(-at_s / time_s)


def passed(die_c: OfTime, spot_c: OfTime, power_w: OfTime = lambda _: 450.0) -> bool:
    watch = DifferenceWatch()
    for tenth in range(600):
        at_s = tenth / 10.0
        told = {"gpu_temp_c": round(die_c(at_s)), "hotspot_temp_c": round(spot_c(at_s))}
        watch.add(row(at_s, power_w=power_w(at_s), **told))
    return watch.passed


def test_a_die_that_lags_catches_up_and_missing_paste_stays() -> None:
    spot = towards(72.0, 20.0, 30.0)
    assert passed(towards(59.0, 35.0, 30.0), spot)
    assert not passed(lambda t: spot(t) - 40.0, spot)
    assert not passed(lambda t: spot(t) - 13.0, spot)


def test_a_difference_that_goes_with_the_power_is_no_lag() -> None:
    power = towards(150.0, -300.0, 15.0)
    assert not passed(lambda _: 50.0, lambda t: 50.0 + 0.08 * power(t), power)


def turned(temp_c: OfTime, *, share: OfTime = lambda _: 1.0) -> bool:
    watch = HeatTurn()
    for tenth in range(600):
        at_s = tenth / 10.0
        watch.add(row(at_s, share(at_s), gpu_temp_c=round(temp_c(at_s))))
    return watch.turned


def test_a_pump_that_stops_turns_the_rise_and_nothing_else_does() -> None:
    sound = towards(48.0, 25.0, 12.0)
    assert turned(lambda t: sound(t) + max(0.0, 0.6 * (t - 30.0)))
    assert not turned(sound)
    assert not turned(lambda t: 25.0 + 0.6 * t)     # it never came to rest: a block without a loop
    assert not turned(sound, share=lambda t: 0.5 if t < 30.0 else 1.0)


def test_more_work_is_no_turn() -> None:
    """A step of load warms the die anew, and is a load of its own."""
    low, high = towards(35.0, 12.0, 12.0), towards(60.0, 25.0, 12.0)
    steps = {True: 0.5, False: 1.0}
    assert not turned(
        lambda t: low(t) if t < 30.0 else high(t - 30.0), share=lambda t: steps[t < 30.0]
    )


def meters(told_w: float, counted_w: float | None) -> PowerWatch:
    watch, energy_j = PowerWatch(), 0.0
    for tenth in range(300):
        energy_j += (counted_w or 0.0) / 10.0
        told = {} if counted_w is None else {"energy_j": energy_j}
        watch.add(row(tenth / 10.0, power_w=told_w, **told))
    return watch


@pytest.mark.parametrize(
    ("told_w", "verdict"),
    [
        *((500.0, Verdict.PASS), (450.0, Verdict.PASS)),
        *((300.0, Verdict.UNSURE), (700.0, Verdict.UNSURE)),
    ],
)
def test_two_meters_of_one_current_that_disagree_leave_the_run_open(
    told_w: float, verdict: Verdict
) -> None:
    [found] = counter_readings(meters(told_w, 500.0), SOURCE)
    assert found.verdict is verdict
    assert found.value == pytest.approx(told_w / 500.0)
    if verdict is Verdict.UNSURE:
        assert found.reason is not None
        assert found.reason.means(WholeRunReason.POWER_DIFFERS)
        assert found.required


def test_a_counter_that_stands_while_power_flows_confirms_nothing() -> None:
    [found] = counter_readings(meters(500.0, 0.0), SOURCE)
    assert (found.verdict, found.required) == (Verdict.NOT_MEASURED, True)
    assert found.reason is not None
    assert found.reason.means(WholeRunReason.COUNTER_STANDS)
    assert not list(counter_readings(meters(0.1, 0.0), SOURCE))


def stands_after(speeds: list[float], asked_pct: float = 40.0) -> set[int]:
    watch = FanRunDown()
    for tenth, rpm in enumerate([1080.0, 1090.0, 1080.0, *speeds, *[0.0] * 30]):
        watch.add(row(tenth / 10.0, fan_rpm=1100.0, fan_pct=asked_pct, fan2_rpm=rpm))
    return watch.ran_down


def test_a_rotor_runs_down_and_a_wire_does_not() -> None:
    assert stands_after([880.0, 600.0, 330.0, 150.0, 50.0]) == {2}
    assert not stands_after([])
    assert not stands_after([500.0])                       # one value on the way is a flicker
    assert not stands_after([880.0, 600.0, 330.0, 150.0], asked_pct=10.0)


def test_a_card_that_slows_itself_has_not_come_to_rest() -> None:
    """A block without a loop warms by 1 K/s until the card slows itself, and stands from there."""
    def keeps_rising(*slows: Slowdown) -> bool | None:
        course = HeatCourse()
        for tenth in range(700):
            at_s = tenth / 10.0
            told = Telemetry(
                gpu_temp_c=min(30.0 + at_s, 60.0),
                throttle_reasons=slows if at_s > 30.0 else (),
            )
            course.add(Sample(at_s, "", "1-thermal_ramp", told, load_share=1.0))
        course.end()
        return course.keeps_rising

    assert keeps_rising(Slowdown.HEAT) is True
    assert keeps_rising() is False


@pytest.mark.parametrize(
    ("k_per_s", "rises"),
    [(0.17, False), (0.21, False), (0.3, True), (1.2, True)],
)
def test_air_that_a_neighbour_warms_is_no_block_without_a_loop(k_per_s: float, rises: bool) -> None:
    """490 W warm 2.2 kg of aluminium (0.90 kJ/(kg K)) by 0.25 K/s; whole kelvin, as cards tell."""
    course = HeatCourse()
    for tenth in range(400):
        at_s = tenth / 10.0
        die_c = float(round(45.0 + 9.0 * (1.0 - math.exp(-at_s)) + k_per_s * at_s))
        told = Telemetry(gpu_temp_c=die_c, power_w=490.0, throttle_reasons=())
        course.add(Sample(at_s, "", "1-thermal_ramp", told, load_share=0.7))
    course.end()
    assert course.keeps_rising is rises


@pytest.mark.parametrize(("share", "power_w"), [(0.4, 180.0), (0.2, 90.0)])
def test_a_block_without_a_loop_is_told_at_part_load_too(share: float, power_w: float) -> None:
    """400 J/K with no way out; a sound heatsink of 20 s comes to rest at the same power."""
    def keeps_rising(dry: bool) -> bool | None:
        course = HeatCourse()
        for tenth in range(700):
            at_s = tenth / 10.0
            warmer_k = power_w * at_s / 400.0 if dry else 0.1 * power_w * (1 - math.exp(-at_s / 20))
            told = Telemetry(gpu_temp_c=float(round(30.0 + warmer_k)), power_w=power_w)
            course.add(Sample(at_s, "", "1-thermal_ramp", told, load_share=share))
        course.end()
        return course.keeps_rising

    assert keeps_rising(dry=True) is True
    assert keeps_rising(dry=False) is False


def test_a_card_without_an_energy_counter_owes_nothing() -> None:
    assert not list(counter_readings(meters(500.0, None), SOURCE))


@pytest.mark.parametrize(("rest_w", "die_c", "lies"), [(270.0, 24.0, True), (110.0, 41.0, False)])
def test_power_at_rest_without_heat_is_a_sensors(rest_w: float, die_c: float, lies: bool) -> None:
    watch = PowerWatch()
    for tenth in range(50):
        watch.add(row(tenth / 10.0, 0.0, power_w=rest_w, gpu_temp_c=die_c))
    assert watch.told(None).without_heat is lies
    assert watch.told(None).rest_w == rest_w


def test_what_a_card_drew_when_it_was_last_seen_is_kept() -> None:
    watch = PowerWatch()
    for power_w in (30.0, 450.0, 440.0):
        watch.add(row(power_w, power_w=power_w))
    assert watch.told(None).last_share == pytest.approx(440.0 / 450.0)
    watch.add(row(500.0, 0.0, power_w=30.0))
    assert watch.told(None).last_share is None
