"""Leads the rows of one case past its guards, as the run would have: every guard sees every row."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypeAlias

from burnin.core.events import WarningGiven, WarningOver
from burnin.core.foreseen import ForecastsKept
from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured
from burnin.core.sample import Sample, Telemetry
from burnin.guard.factory import make_guards
from burnin.guard.guard import Trip
from burnin.guard.warning import StandingWarning, WarningEvents
from burnin.profile.loader import LoadedProfile
from burnin.record.reader import Record
from burnin.replay.case import Case, case_of_record
from burnin.replay.recording_file import BadRow
from burnin.thermal.cooling_verdict import CoolingVerdict, judge_cooling
from burnin.thermal.states import DRY_STATES

SKIPPED_NAMED = 20
"""Bad rows named a file; of more, their number is said."""


@dataclass(frozen=True)
class GoesOn:
    """No guard objects to the row at `time_s`; `warning` is the one that stands after it."""

    time_s: float
    warning: StandingWarning | None = None


@dataclass(frozen=True)
class Stops:
    """The load would have been ended at `time_s`."""

    time_s: float
    stage: str
    trip: Trip


@dataclass(frozen=True)
class Warned:
    """A warning was given at `time_s`, or was over."""

    time_s: float
    event: WarningGiven | WarningOver


@dataclass(frozen=True)
class Skipped:
    """A row that cannot be used: its line in the file, from 1."""

    line: int
    why: Reason


@dataclass(frozen=True)
class MoreSkipped:
    """So many more rows cannot be used."""

    rows_count: int


@dataclass(frozen=True)
class Unsound:
    """What of a record's own files is not as a run left it: what was judged may be made up."""

    flaw: Reason


@dataclass(frozen=True)
class Ends:
    """After the last row; `cooling` is None where no guard identifies it.

    `warnings`: all of them in order of time. `forecasts`: how good they were.
    """

    profile: str
    samples_count: int
    stopped_at_s: float | None
    cooling: CoolingVerdict | None
    warnings: tuple[Warned, ...] = ()
    forecasts: tuple[ForecastsKept, ...] = ()


Result: TypeAlias = GoesOn | Stops | Warned | Skipped | MoreSkipped | Unsound | Ends


def judge_samples(record: Record, loaded: LoadedProfile | None = None) -> tuple[Result, ...]:
    """What the guards of its own profile, or of another, say of a record's samples.

    The last is what ends it (`Ends`). Raises RecordError where the guards' settings cannot be used.
    """
    return tuple(Judging(case_of_record(record, loaded)).results())


class Judging:
    """One case being judged; `guards` is its set, `last` the newest row."""

    def __init__(self, case: Case) -> None:
        self._case = case
        self.guards = make_guards(case.settings, case.facts)
        self._planned = deque(case.planned)
        self._no_loop = case.no_loop
        self._stage = ""
        self._load_w: float | None = None
        self._count = 0
        self._stopped_at_s: float | None = None
        self._events = WarningEvents()
        self._warned: list[Warned] = []
        self.last: Sample | None = None

    def judge(self, sample: Sample) -> Trip | None:
        """The first guard's trip on this row; after a stop only the cooling is learnt."""
        self._count += 1
        self._stage, self._load_w, self.last = sample.stage, sample.load_w, sample
        self._follow_plan(sample.elapsed_s)
        return self._judge(sample)

    def judge_unread(self, row: BadRow) -> Trip | None:
        """A row without readings still tells that time has passed unseen."""
        if row.time_s is None or self._stopped_at_s is not None:
            return None
        unread = Telemetry(gpu_temp_c=NotMeasured(row.why))
        return self._judge(Sample(row.time_s, "", self._stage, unread, load_w=self._load_w))

    def results(self, *, each_row: bool = False, warnings: bool = False) -> Iterator[Result]:
        """All that is to be said, each before the next row is read.

        `warnings`: these too, each behind its row; the end tells them in any case.
        """
        bad = 0
        for row in self._case.rows():
            if isinstance(row, BadRow):
                bad += 1
                if bad <= SKIPPED_NAMED:
                    yield Skipped(row.line, row.why)
                time_s, trip = row.time_s or 0.0, self.judge_unread(row)
            else:
                time_s, trip = row.elapsed_s, self.judge(row)
            if trip is not None:
                yield Stops(time_s, self._stage, trip)
            elif each_row and not isinstance(row, BadRow):
                yield GoesOn(time_s, self.guards.warning())
            fresh = [] if isinstance(row, BadRow) else self._warnings_after(row)
            if warnings:
                yield from fresh
        if bad > SKIPPED_NAMED:
            yield MoreSkipped(bad - SKIPPED_NAMED)
        yield self._end()

    def _judge(self, sample: Sample) -> Trip | None:
        if self._stopped_at_s is not None:
            self.guards.observe(sample)
            return None
        trip = self.guards.judge(sample)
        if trip is not None:
            self._stopped_at_s = sample.elapsed_s
        return trip

    def _warnings_after(self, sample: Sample) -> list[Warned]:
        stands = self.guards.warning()
        fresh = [Warned(sample.elapsed_s, e) for e in self._events.after(sample, stands)]
        self._warned += fresh
        return fresh

    def _follow_plan(self, now_s: float) -> None:
        """Hand the forecast what the run's stages had planned by then."""
        forecast = self.guards.forecast
        while self._planned and self._planned[0].elapsed_s < now_s:
            planned = self._planned.popleft()
            if forecast is None:
                continue
            forecast.watch.plan, forecast.watch.ends_s = planned.plan, planned.ends_s
            if self._no_loop and planned.plan and forecast.watch.bank is not None:
                forecast.watch.assume(DRY_STATES)
                self._no_loop = False  # said once, as in the run

    def _end(self) -> Ends:
        forecast = self.guards.forecast
        cooling = None if forecast is None else judge_cooling(forecast.watch)
        return Ends(
            self._case.profile, self._count, self._stopped_at_s, cooling, tuple(self._warned),
            self.guards.forecasts_kept(),
        )  # fmt: skip
