"""Rows led past the guards: what is said of each, of rows that cannot be used, and at the end."""

from __future__ import annotations

import signal
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from burnin.core.meaning import Reason
from burnin.core.sample import Sample, Telemetry
from burnin.guard.factory import GuardFacts
from burnin.guard.forecast_guard import ForecastGuard
from burnin.guard.meanings import GuardReason
from burnin.profile.guards import Guards
from burnin.record.reader import read_record
from burnin.replay.case import Case, PlannedFrom
from burnin.replay.default_settings import RECORDING_DEFAULTS
from burnin.replay.judging import (
    Ends,
    GoesOn,
    Judging,
    MoreSkipped,
    Result,
    Skipped,
    Stops,
    judge_samples,
)
from burnin.replay.reasons import ReplayReason
from burnin.replay.recording_file import BadRow
from burnin.thermal.inputs import Plan
from burnin.thermal.states import CooledBy
from tests.record import streams

Rows = list[Sample | BadRow]
TORN = ReplayReason.TIME_RUNS_BACK(time_s=1.0, last_s=2.0)
SIMPLE = Guards(gpu_temp_limit_c=90.0, stale_after_s=5.0)
"""The guards that no profile can leave out, and no forecast."""


@pytest.fixture(autouse=True)
def _ends() -> Iterator[None]:
    """What never comes to an end is broken off."""
    signal.signal(signal.SIGALRM, lambda *_: pytest.fail("goes round and round"))
    signal.alarm(10)
    yield
    signal.alarm(0)


def row(time_s: float, gpu_temp_c: float = 40.0, stage: str = "2-link") -> Sample:
    told = Telemetry(gpu_temp_c=gpu_temp_c, power_w=150.0 + time_s)
    return Sample(time_s, "", stage, told, load_w=150.0)


def unread(line: int, time_s: float | None, why: Reason = TORN) -> BadRow:
    return BadRow(line, why, time_s)


def judging(
    rows: Iterable[Sample | BadRow] = (), settings: Guards = SIMPLE, **more: Any
) -> Judging:
    kept = list(rows)
    case = Case("made", "its own", settings, GuardFacts(cooled_by=CooledBy.FANS), lambda: kept)
    return Judging(replace(case, **more))


def said(rows: Sequence[Sample | BadRow], *, each_row: bool = False) -> list[Result]:
    return list(judging(rows).results(each_row=each_row))


def test_each_row_that_can_be_used_is_gone_on_from_and_counted() -> None:
    rows: Rows = [row(0.0), unread(3, 0.05), row(0.1), row(0.2)]
    assert said(rows, each_row=True) == [
        GoesOn(0.0), Skipped(3, TORN), GoesOn(0.1), GoesOn(0.2), Ends("its own", 3, None, None),
    ]  # fmt: skip
    assert said(rows) == [Skipped(3, TORN), Ends("its own", 3, None, None)]
    assert said([]) == [Ends("its own", 0, None, None)]


@pytest.mark.parametrize(("bad", "more"), [(1, 0), (20, 0), (21, 1), (35, 15)])
def test_the_first_twenty_bad_rows_are_named_and_of_the_rest_the_number(
    bad: int, more: int
) -> None:
    rows = [unread(line, None, ReplayReason.TIME_ABSURD(time_s=line)) for line in range(2, bad + 2)]
    *found, end = said(rows)
    named = [Skipped(r.line, r.why) for r in rows[:20]]
    assert found == [*named, *([MoreSkipped(more)] if more else [])]
    assert end == Ends("its own", 0, None, None)


def test_a_row_that_is_too_hot_stops_the_load_there() -> None:
    rows: Rows = [row(0.0), row(1.5, 91.0, "3-memory"), row(1.6, 95.0), row(1.7, 40.0)]
    *_, stop, end = said(rows)
    assert isinstance(stop, Stops)
    assert (stop.time_s, stop.stage, stop.trip.guard) == (1.5, "3-memory", "GPU limit")
    assert stop.trip.value == 91.0
    assert end == Ends("its own", 4, 1.5, None)


def test_rows_without_readings_tell_that_time_has_passed_unseen() -> None:
    """The card was at work when it was last seen, so that nobody knows its temperature since."""
    rows: Rows = [row(0.0), row(1.0), *(unread(n, 1.0 + 0.5 * n) for n in range(1, 14))]
    found = said(rows)
    [stop] = [one for one in found if isinstance(one, Stops)]
    assert (stop.stage, stop.trip.guard, stop.time_s) == ("2-link", "stale data", 6.5)
    assert stop.trip.reason == GuardReason.TEMPERATURE_UNREAD(
        age_s=5.5, allowed_s=5.0, because=TORN
    )
    assert found[-1] == Ends("its own", 2, 6.5, None)
    # each bad row is still named, those after the stop too
    assert [one.line for one in found if isinstance(one, Skipped)] == list(range(1, 14))


def test_unread_rows_of_a_card_that_was_not_at_work_stop_nothing() -> None:
    rows: Rows = [
        replace(row(0.0), load_w=None), *(unread(n, 1.0 + 0.5 * n) for n in range(1, 30))
    ]  # fmt: skip
    assert not any(isinstance(one, Stops) for one in said(rows))


def test_a_row_whose_time_is_unknown_tells_the_guards_nothing() -> None:
    judge = judging()
    assert judge.judge(row(0.0)) is None
    assert judge.judge_unread(unread(2, None)) is None
    assert judge.judge_unread(unread(3, 4.9)) is None
    assert judge.judge_unread(unread(4, 5.2)) is not None
    assert judge.judge_unread(unread(5, 9.0)) is None  # stopped already
    assert judge.judge(row(10.0, 95.0)) is None


def test_after_a_stop_the_cooling_is_learnt_on() -> None:
    """What is seen while the card cools tells of its cooler as well."""
    judge = judging(settings=RECORDING_DEFAULTS)
    forecast = judge.guards.forecast
    assert forecast is not None
    assert judge.judge(row(0.0, 91.0)) is not None
    for n in range(1, 40):
        assert judge.judge(row(n / 10.0, 91.0 - n / 20.0)) is None
    assert forecast.watch.last is not None
    assert forecast.watch.last.time_s == pytest.approx(3.9)
    end = list(judging([row(0.0, 40.0)], RECORDING_DEFAULTS).results())[-1]
    assert isinstance(end, Ends)
    assert end.cooling is not None


# ---- what the run had planned

RISE = Plan(((0.0, 100.0), (2.0, 150.0)), 10.0)
LATER = Plan(((4.0, 300.0),), 20.0)
PLANNED = (
    PlannedFrom(1.0, RISE, None), PlannedFrom(2.0, None, 30.0), PlannedFrom(2.5, LATER, None),
)  # fmt: skip


def forecast_of(judge: Judging) -> ForecastGuard:
    assert judge.guards.forecast is not None
    return judge.guards.forecast


def test_a_plan_is_followed_from_the_first_row_after_it_was_made() -> None:
    judge = judging(settings=RECORDING_DEFAULTS, planned=PLANNED)
    watch = forecast_of(judge).watch
    followed = []
    for time_s in (0.0, 1.0, 1.1, 2.0, 2.2, 2.4, 2.6, 9.0):
        judge.judge(row(time_s))
        followed.append((watch.plan, watch.ends_s))
    nothing, rise, open_end, later = (None, None), (RISE, None), (None, 30.0), (LATER, None)
    assert followed == [nothing, nothing, rise, rise, open_end, open_end, later, later]


def test_of_several_plans_between_two_rows_the_last_is_followed() -> None:
    judge = judging(settings=RECORDING_DEFAULTS, planned=PLANNED)
    judge.judge(row(0.0))
    judge.judge(row(5.0))
    watch = forecast_of(judge).watch
    assert (watch.plan, watch.ends_s) == (LATER, None)


def test_where_nothing_is_forecast_a_plan_changes_nothing() -> None:
    rows: Rows = [row(n / 2.0) for n in range(12)]
    assert list(judging(rows, planned=PLANNED).results()) == said(rows)


def weights(no_loop: bool, planned: tuple[PlannedFrom, ...]) -> list[float]:
    """How likely each hypothesis of the cooling is held to be after some rows."""
    facts = GuardFacts(cooled_by=CooledBy.WATER)
    judge = judging(settings=RECORDING_DEFAULTS, planned=planned, no_loop=no_loop, facts=facts)
    for n in range(60):
        judge.judge(row(n / 10.0, 40.0 + n // 10))
    bank = forecast_of(judge).watch.bank
    assert bank is not None
    return [float(weight) for weight in bank.log_weight - np.max(bank.log_weight)]


def test_that_no_loop_is_attached_is_told_once_with_the_first_plan() -> None:
    first, open_end = (PlannedFrom(5.0, RISE, None),), (PlannedFrom(5.0, None, 30.0),)
    told = weights(True, first)
    assert told != pytest.approx(weights(False, first))
    # a second plan says nothing new of the loop, and neither does a load of unknown watts
    again = (*first, PlannedFrom(5.5, RISE, None))
    assert weights(True, again) == pytest.approx(told)
    assert weights(True, open_end) == pytest.approx(weights(False, open_end))
    # a plan that was made before any hypothesis stood has nobody to tell it to
    early = (PlannedFrom(-1.0, RISE, None),)
    assert weights(True, early) == pytest.approx(weights(False, early))


def test_a_record_is_judged_row_by_row_under_its_own_profile(tmp_path: Path) -> None:
    record = read_record(streams.write(tmp_path / "r", sums=False))
    *_, stop, end = judge_samples(record)
    assert isinstance(stop, Stops)
    assert (stop.trip.guard, stop.time_s, stop.stage) == ("heat throttle", 1.5, "2-link")
    assert isinstance(end, Ends)
    assert (end.profile, end.samples_count, end.stopped_at_s) == ("short", 3, 1.5)
