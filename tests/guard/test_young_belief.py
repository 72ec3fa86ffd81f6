"""A fault that a reading or two have made is told, and stops nothing until it has stood."""

from __future__ import annotations

import math

import numpy as np
import pytest

from burnin.guard.stop_decision import Borne, Decision, Risk
from burnin.thermal.forecast import Forecast

NEARS = Borne(1.0)


def crossing(time_s: float, faulty: int, sound: int = 0, in_s: float = 1.0) -> Forecast:
    """Of ten draws so many cross that are of a faulty card, and so many of a sound one."""
    times = np.full(10, math.inf)
    times[:faulty] = times[10 - sound :] = in_s
    is_sound = np.arange(10) >= faulty
    share = (faulty + sound) / 10.0
    return Forecast(time_s, share, in_s, in_s, 0.0, 80.0, times, sound=is_sound)


def believed_sound_for_20_s() -> Decision:
    decision = Decision(Risk())
    for second in range(21):
        assert not decision.stops(crossing(float(second), 0), 0.0, NEARS)
    return decision


def first_stop_s(decision: Decision, faults: list[float], **draws: int) -> float | None:
    """When it stops, a forecast each 0.4 s from 20.4 s on."""
    for n, fault in enumerate(faults):
        at_s = 20.4 + 0.4 * n
        if decision.stops(crossing(at_s, **draws), fault, NEARS):
            return at_s
    return None


def test_a_new_fault_stops_once_it_has_been_believed_for_its_time() -> None:
    stop_s = first_stop_s(believed_sound_for_20_s(), [0.97] * 10, faulty=9)
    assert stop_s == pytest.approx(20.4 + 1.6)


def test_a_fault_that_comes_and_goes_stops_nothing() -> None:
    flickers = [0.97, 0.99, 0.8, 0.2] * 20
    assert first_stop_s(believed_sound_for_20_s(), flickers, faulty=9) is None


def test_what_a_sound_card_would_cross_is_stopped_at_once() -> None:
    assert first_stop_s(believed_sound_for_20_s(), [0.97], faulty=5, sound=3) == 20.4


def test_a_fault_that_stood_from_the_first_row_on_is_not_young() -> None:
    decision = Decision(Risk())
    stops = [decision.stops(crossing(0.5 * n, 9), 0.97, NEARS) for n in range(4)]
    assert stops == [False, False, True, True]


def test_a_step_of_power_is_no_way_round_it() -> None:
    decision = believed_sound_for_20_s()
    leaps = Borne(math.inf, leaps_in_s=0.0)
    assert not decision.stops(crossing(20.4, 10), 0.97, leaps)
    assert decision.stops(crossing(20.8, 0, 10), 0.97, leaps)


def test_while_power_steps_up_the_readings_near_by_its_pace_alone() -> None:
    """Then the model must hold a crossing for likelier than not."""
    leaps = Borne(1.0, leaps_in_s=0.0)
    for draws, stops in ((4, False), (5, True)):
        decision = Decision(Risk())
        for second in range(5):
            assert not decision.stops(crossing(float(second), 0), 0.6, leaps)
        assert decision.stops(crossing(5.0, draws), 0.6, leaps) is stops
        assert decision.stops(crossing(5.4, 4), 0.6, NEARS)
