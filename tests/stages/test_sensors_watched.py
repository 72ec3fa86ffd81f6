"""A run's samples tell whether sensors can be right, and whether the heat came to rest."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from burnin.core.reading import NotMeasured
from burnin.core.sample import Sample, Telemetry
from burnin.guard.sample_trust import SampleTrust
from burnin.stages.thermal_ramp.meanings import ThermalRampReason
from burnin.stages.thermal_ramp.ramp_trace import RampTrace
from burnin.stages.thermal_ramp.rest_reading import rest_readings
from burnin.stages.thermal_ramp.settings import RampStep, ThermalRamp
from burnin.stages.whole_run.even_load import EvenLoad
from burnin.stages.whole_run.power_watch import PowerWatch
from burnin.stages.whole_run.sensor_watch import SensorWatch
from burnin.stages.whole_run.watch import RunWatch
from burnin.thermal.heat_course import MOST_KEPT, HeatCourse

FULL = ThermalRamp(stage="thermal_ramp", steps=(RampStep(load_share=1.0, hold_s=30.0),))
NO_FANS = NotMeasured(ThermalRampReason.NO_SUCH_SENSOR())


def row(at_s: float, share: float = 1.0, **told: float) -> Sample:
    return Sample(at_s, "", "1-thermal_ramp", Telemetry(**told), load_share=share)  # type: ignore[arg-type]


def watched(temp_c: Callable[[float], float], power_w: Callable[[float], float]) -> SensorWatch:
    trust, watch = SampleTrust(), SensorWatch()
    for tenth in range(200):
        at_s = tenth / 10.0
        watch.add(trust.see(row(at_s, gpu_temp_c=temp_c(at_s), power_w=power_w(at_s))))
    return watch


def test_a_die_that_scatters_by_many_kelvin_is_told_from_one_that_warms() -> None:
    scatters = watched(lambda t: 60.0 + (15.0 if round(t * 10) % 7 == 0 else 0.0), lambda _: 450.0)
    assert scatters.scattered["gpu_temp_c"] >= 3
    warms = watched(lambda t: 30.0 + min(40.0, 15.0 * t), lambda _: 450.0)
    assert not warms.scattered
    assert not warms.leapt


def test_a_step_within_one_sample_counts_only_where_power_stood() -> None:
    def leap(at_s: float) -> float:
        return 50.0 if at_s < 10.0 else 90.0

    assert watched(leap, lambda _: 450.0).leapt == {"gpu_temp_c"}
    assert not watched(leap, lambda t: 30.0 if t < 9.5 else 450.0).leapt


def power_seen(power_w: Callable[[float], float], counted_w: float = 450.0) -> PowerWatch:
    watch, energy_j = PowerWatch(), 0.0
    for tenth in range(400):
        at_s, share = tenth / 10.0, 1.0 if tenth >= 100 else 0.0
        energy_j += (counted_w if share else 30.0) / 10.0
        warm = 25.0 + (30.0 if share else 0.0)
        watch.add(row(at_s, share, gpu_temp_c=warm, power_w=power_w(at_s), energy_j=energy_j))
    return watch


def test_a_power_that_never_moves_while_the_die_warms_stands() -> None:
    assert power_seen(lambda _: 60.0).told(None).stands
    assert not power_seen(lambda t: 450.0 if t >= 10.0 else 30.0).told(None).stands


def test_power_is_held_against_the_energy_counter() -> None:
    low = power_seen(lambda t: 300.0 if t >= 10.0 else 30.0).told(None).of_counter
    assert low == pytest.approx(300.0 / 450.0, rel=0.02)
    right = power_seen(lambda t: 450.0 if t >= 10.0 else 30.0).told(None).of_counter
    assert right == pytest.approx(1.0, rel=0.02)


def course(temp_c: Callable[[float], float], seconds: float = 30.0) -> bool | None:
    found = HeatCourse()
    for tenth in range(round(seconds * 10)):
        at_s = tenth / 10.0
        found.add(row(at_s, gpu_temp_c=float(round(temp_c(at_s)))))
    found.end()
    return found.keeps_rising


def test_a_block_without_a_way_out_goes_on_rising_and_a_sound_one_comes_to_rest() -> None:
    assert course(lambda t: 40.0 + 1.1 * t)
    assert course(lambda t: 40.0 + 1.1 * t, 11.0)
    assert course(lambda t: 60.0 - 20.0 * 2.0 ** (-t / 8.0)) is False
    assert course(lambda t: 45.0 + 0.05 * t, 120.0) is False  # the water of a sound loop
    assert course(lambda t: 40.0 + 1.1 * t, 5.0) is None


def test_hours_of_one_load_are_judged_alike_and_take_no_more_memory() -> None:
    """Every second point is let go where there are too many; what is left tells the same."""
    found, power, even = HeatCourse(), PowerWatch(), EvenLoad()
    for number in range(3 * MOST_KEPT):
        at_s = number / 10.0
        temp_c, energy_j = 40.0 + 0.2 * at_s, 300.0 * at_s
        sample = row(
            at_s, gpu_temp_c=temp_c, power_w=300.0, energy_j=energy_j, core_clock_mhz=2000.0
        )
        for watch in (found, power, even):
            watch.add(sample)
        assert max(map(_kept, (found, power, even))) <= MOST_KEPT
    found.end()
    even.end()
    assert found.keeps_rising
    assert power.told(None).of_counter == pytest.approx(1.0, rel=0.01)
    assert even.worst is not None
    assert even.worst.share == 1.0


def _kept(watch: object) -> int:
    """Members of the longest list that a watch holds."""
    return max((len(v) for v in vars(watch).values() if isinstance(v, list)), default=0)


def test_an_interruption_ends_every_stretch() -> None:
    watch = RunWatch()
    for tenth in range(100):
        told = {"gpu_temp_c": 40.0 + 0.1 * tenth, "power_w": 300.0, "energy_j": 30.0 * tenth}
        watch.add(row(tenth / 10.0, **told))
    watch.gone_on()
    for tenth in range(20):  # 1.9 s: too short to tell anything, and not part of the load before
        told = {"gpu_temp_c": 30.0, "power_w": 300.0, "energy_j": 90_000.0 + 30.0 * tenth}
        watch.add(row(20.0 + tenth / 10.0, **told))
    # The load before the cut alone (3 s to 9.9 s) is too short to be held against the counter,
    # and with what was counted in the cut it would tell a sensor that is a hundred times too low.
    assert watch.power.told(None).of_counter is None
    watch.course.end()
    assert watch.course.keeps_rising is None
    assert not watch.sensors.leapt


def rest(temp_c: Callable[[float], float], **fans: float) -> list[tuple[str, str | None]]:
    trace = RampTrace(cut=None)
    trace.begin_step()
    for tenth in range(150):
        told = {"gpu_temp_c": float(round(temp_c(tenth / 10.0))), **fans}
        trace.add(row(tenth / 10.0, **told))
    fan_count = 1 if fans else NO_FANS
    return [(r.name, r.verdict) for r in rest_readings(trace, FULL, fan_count)]


def test_a_card_without_fans_owes_a_soak_where_its_heat_never_came_to_rest() -> None:
    assert rest(lambda t: 40.0 + 1.1 * t) == [("heat_came_to_rest", "unsure")]
    assert rest(lambda t: 50.0 - 10.0 * 2.0 ** (-t / 3.0)) == [("heat_came_to_rest", "pass")]
    assert rest(lambda t: 40.0 + 1.1 * t, fan_rpm=1500.0, fan_pct=60.0) == []
