"""A power is told by a sensor that moves, or by the energy counter; else nobody knows it."""

from __future__ import annotations

import math

import pytest

from burnin.core.reading import NotMeasured, ReadingReason
from burnin.core.sample import Sample, Telemetry
from burnin.stages.under_load.meanings import UnderLoadReason
from burnin.stages.under_load.power_seen import PowerSeen

UNREAD = NotMeasured(ReadingReason.NOT_READ())


def seen(
    watts: list[float | NotMeasured], joules_per_s: float | None = None
) -> float | NotMeasured:
    """Samples ten times a second."""
    power = PowerSeen(300.0)
    for place, power_w in enumerate(watts):
        at_s = 0.1 * place
        energy_j = UNREAD if joules_per_s is None else 1000.0 + joules_per_s * at_s
        told = Telemetry(power_w=power_w, energy_j=energy_j)
        power.see(Sample(at_s, "2031-04-02T09:00:00Z", "1-under_load", told))
    return power.mean_w()


def swinging(count: int) -> list[float | NotMeasured]:
    return [300.0 + math.sin(place) for place in range(count)]


def test_a_sensor_that_moves_tells_the_mean() -> None:
    assert seen(swinging(60)) == pytest.approx(300.0, abs=0.5)


def test_a_word_or_two_that_are_missing_are_no_silence() -> None:
    assert seen([*swinging(20), UNREAD, UNREAD, *swinging(20)]) == pytest.approx(300.0, abs=0.5)


def test_a_sensor_that_falls_silent_tells_nothing_of_what_came_after() -> None:
    told = seen([*swinging(20), *[UNREAD] * 80])
    assert isinstance(told, NotMeasured)
    assert told.reason.means(UnderLoadReason.POWER_WENT_SILENT)


@pytest.mark.parametrize("joules_per_s", [None, 0.0])
def test_a_sensor_that_stands_tells_nothing(joules_per_s: float | None) -> None:
    told = seen([300.0] * 60, joules_per_s)
    assert isinstance(told, NotMeasured)
    assert told.reason.means(UnderLoadReason.POWER_STOOD)


@pytest.mark.parametrize("watts", [[300.0] * 60, [*swinging(5), *[UNREAD] * 55], swinging(60)])
def test_an_energy_counter_that_moves_tells_it_instead(
    watts: list[float | NotMeasured],
) -> None:
    assert seen(watts, 100.0) == pytest.approx(100.0)


def test_nothing_told_is_unread() -> None:
    told = seen([UNREAD] * 30)
    assert isinstance(told, NotMeasured)
    assert told.reason.means(UnderLoadReason.POWER_UNREAD)
