"""A warning comes as soon as a crossing is likelier than not, once, and ends nothing."""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest

from burnin.core.events import Event, WarningGiven, WarningOver
from burnin.core.sample import Sample, Telemetry
from burnin.guard.forecast_guard import ForecastGuard
from burnin.guard.guard_set import FittedGuard, GuardSet
from burnin.guard.meanings import GuardNote
from burnin.guard.sampler import LoadStopped, Watch
from burnin.guard.warning import StandingWarning, Warner, WarningEvents
from burnin.report.languages.catalogue import catalogue
from burnin.thermal.forecast import Forecast
from burnin.thermal.inputs import Limits, Row, Setup, plan_of
from burnin.thermal.meanings import CoolingCause, CoolingCheck
from tests.record.streams import HandClock
from tests.thermal.cards import DRY, LOOP_LIKE, LOOSE, OneBlock

STEPS = ((3.0, 150.0), (40.0, 300.0), (80.0, 420.0))


def told(at_s: float, probability: float = 0.6) -> StandingWarning:
    cause, check = CoolingCause.MOUNT(), CoolingCheck.MOUNT()
    return StandingWarning(
        "forecast", "gpu_temp_c", 60.0, 90.0, probability, 20.0, cause, check, at_s, at_s
    )


def likely(probability: float, in_s: float = 60.0) -> Forecast:
    """A forecast of which that share of the draws crosses in so many seconds."""
    crossings = np.where(np.arange(100) < 100.0 * probability, in_s, np.inf)
    return Forecast(0.0, probability, in_s, in_s, 0.0, 100.0, crossings)


def since(*looks: tuple[float, float], in_s: float = 60.0) -> list[float | None]:
    """Since when a warning stands after each (time, probability)."""
    warner, stands = Warner(), list[float | None]()
    for time_s, probability in looks:
        warner.see(time_s, likely(probability, in_s), partial(told, time_s, probability))
        stands.append(None if warner.standing is None else warner.standing.since_s)
    return stands


def test_it_is_given_once_forecasts_have_said_so_for_a_while() -> None:
    looks = ((0.0, 0.9), (4.0, 0.49), (5.0, 0.5), (9.0, 0.9), (12.9, 0.9), (13.0, 0.5))
    assert since(*looks) == [None] * 5 + [13.0]


def test_a_near_crossing_is_told_after_three_forecasts() -> None:
    assert since((0.0, 0.9), (0.4, 0.9), (0.8, 0.9), in_s=7.0) == [None, None, 0.8]
    assert since((0.0, 0.9), (0.4, 0.9), (0.8, 0.9), in_s=9.0) == [None] * 3


def test_it_stands_until_the_crossing_is_clearly_less_likely() -> None:
    before = ((0.0, 0.9), (4.0, 0.9), (8.0, 0.9))
    after = ((9.0, 0.31), (10.0, 0.6), (11.0, 0.29), (12.0, 0.9), (16.0, 0.9), (20.0, 0.9))
    assert since(*before, *after)[2:] == [8.0, 8.0, 8.0, None, None, None, 20.0]


def test_what_stands_tells_the_newest_forecast() -> None:
    warner = Warner()
    for time_s, probability in ((0.0, 0.9), (4.0, 0.9), (8.0, 0.9), (9.0, 0.7)):
        warner.see(time_s, likely(probability), partial(told, time_s, probability))
    assert warner.standing is not None
    assert (warner.standing.since_s, warner.standing.seen_s) == (8.0, 9.0)
    assert warner.standing.probability == 0.7


def of_row(row: Row, load_w: float | None) -> Sample:
    telemetry = Telemetry(gpu_temp_c=row.die_c, power_w=row.power_w)
    return Sample(row.time_s, "", "1-thermal_ramp", telemetry, load_w=load_w)


def test_its_events_are_one_that_it_is_given_and_one_that_it_is_over() -> None:
    events, found = WarningEvents(), list[Event]()
    loaded, rest = of_row(Row(9.0, 300.0, 60.0), 300.0), of_row(Row(9.5, 300.0, 60.0), None)
    for sample, stands in (
        (loaded, None),
        (loaded, told(5.0)),
        (loaded, told(5.0, 0.8)),
        (loaded, None),
        (loaded, told(8.0)),
        (rest, None),
        (rest, None),
    ):
        found += events.after(sample, stands)
    assert [type(event) for event in found] == [WarningGiven, WarningOver] * 2
    given, over, _, off = found
    assert isinstance(given, WarningGiven)
    assert given.warning.means(GuardNote.WARNS)
    assert (given.probability, given.crossing_in_s, given.limit) == (0.6, 20.0, 90.0)
    assert isinstance(over, WarningOver)
    assert isinstance(off, WarningOver)
    assert (over.stood_s, over.why) == (4.0, GuardNote.WARNING_LESS_LIKELY(stood_s=4.0))
    assert off.why == GuardNote.WARNING_LOAD_OFF(stood_s=1.5)


def guards() -> GuardSet:
    setup = Setup(Limits(90.0), plan_of(STEPS, 240.0), ambient_c=24.0, has_fan=False)
    return GuardSet((FittedGuard("forecast", ForecastGuard(setup), {}),))


class Rows:
    """A card that reads what a row holds, and the clock that shows its time."""

    def __init__(self) -> None:
        self.clock = HandClock()
        self.row = Row(0.0, 0.0, 24.0)

    def present(self) -> bool:
        return True

    def telemetry(self) -> Telemetry:
        return Telemetry(gpu_temp_c=self.row.die_c, power_w=self.row.power_w)


def watched(block: OneBlock, until_s: float) -> tuple[list[Event], Watch, float | None]:
    """The block under its plan before the watch, ended by a guard or by `until_s`."""
    card, events = Rows(), list[Event]()
    start_s = card.clock.monotonic_s()
    watch = Watch(card, guards(), card.clock, events.append, lambda: False, start_s)
    for row in block.rows(STEPS, until_s):
        card.clock.sleep_s(start_s + row.time_s - card.clock.monotonic_s())
        card.row = row
        try:
            watch.look("1-thermal_ramp", load_w=row.power_w or None)
        except LoadStopped:
            return events, watch, row.time_s
    return events, watch, None


def of_warnings(events: list[Event]) -> list[Event]:
    return [event for event in events if isinstance(event, WarningGiven | WarningOver)]


@pytest.mark.parametrize(
    ("block", "causes"),
    [(DRY, (CoolingCause.DRY_BLOCK, CoolingCause.PUMP)), (LOOSE, (CoolingCause.MOUNT,))],
)
def test_a_card_that_will_cross_is_warned_of_once_long_before_it_is_stopped(
    block: OneBlock, causes: tuple[CoolingCause, ...]
) -> None:
    events, watch, stopped_s = watched(block, block.crossing_s(STEPS, 90.0))
    [given] = of_warnings(events)
    assert isinstance(given, WarningGiven)
    stands = watch.warning
    assert stopped_s is not None
    assert stands is not None
    assert stopped_s - stands.since_s > 15.0
    assert given.cause.means(*causes)
    assert given.probability >= 0.5
    assert catalogue("en").say(given.warning) != catalogue("de").say(given.warning)
    watch.observe("1-thermal_ramp")
    assert watch.warning is None
    over = of_warnings(events)[-1]
    assert isinstance(over, WarningOver)
    assert over.why.means(GuardNote.WARNING_LOAD_OFF)


def test_a_sound_card_is_not_warned_of() -> None:
    events, watch, stopped_s = watched(LOOP_LIKE, 150.0)
    assert (of_warnings(events), watch.warning, stopped_s) == ([], None, None)


@pytest.mark.parametrize("says_load", [True, False])
def test_it_never_stands_on_a_row_without_load(says_load: bool) -> None:
    """A card that idles is not loaded, whoever says so, and one that nobody loads is not either."""
    judged = guards()
    for row in DRY.rows(STEPS, 34.0):
        judged.judge(of_row(row, row.power_w or None))
    stood = judged.warning()
    power_w, load_w = (20.0, 20.0) if says_load else (150.0, None)
    for number in range(40):
        row = Row(34.0 + 0.1 * number, power_w, 75.0)
        judged.judge(of_row(row, load_w))
        assert judged.warning() is None or (says_load and number < 25)
    assert stood is not None
    assert judged.warning() is None
