"""The watch over a run: takes samples, puts each on record, and lets every guard judge it."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Protocol

from burnin.card.answers_in_time import KnowsLoad
from burnin.core.clock import Clock, iso
from burnin.core.errors import ReasonedError, StoppedByHand
from burnin.core.events import ForecastMade, ForecastsJudged, Publish, SampleTaken
from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured, ReadingReason
from burnin.core.sample import Sample, SampleFlaw, Telemetry
from burnin.guard.forecast_band import notes_of
from burnin.guard.forecast_guard import ForecastGuard
from burnin.guard.guard import Expectation, Trip
from burnin.guard.guard_set import GuardSet
from burnin.guard.liveness import hangs
from burnin.guard.meanings import GuardReason
from burnin.guard.sample_trust import SampleTrust, possible
from burnin.guard.warning import StandingWarning, WarningEvents

_FORECAST_EVERY_S = 5.0
LATE_SHARE = 0.5
"""A sample is late from this share of a period on after it was due."""
_BETWEEN_S = 0.02
"""Whoever looks between two samples leaves the processor alone for so long between two looks."""
_SAME_S = 1e-6
"""A clock that adds up seconds is off by less than this."""


class LoadStopped(ReasonedError):
    """A guard ended the load."""

    def __init__(self, trip: Trip) -> None:
        super().__init__(trip.reason)
        self.trip = trip


class WatchedCard(Protocol):
    """What the watch asks of a card."""

    def present(self) -> bool:
        """Whether the card still answers."""
        ...

    def telemetry(self) -> Telemetry:
        """One reading of all sensors."""
        ...


class Watch:
    """Samples a card; raises `LoadStopped` from `look` as soon as a guard trips."""

    def __init__(
        self,
        card: WatchedCard | None,
        guards: GuardSet,
        clock: Clock,
        publish: Publish,
        stop_asked: Callable[[], bool | Reason],
        start_s: float,
        period_s: float = 0.1,
    ) -> None:
        """`period_s`: how often the card is to be read; `start_s`: when the run began."""
        self._card, self._guards, self._clock = card, guards, clock
        self._publish, self._stop_asked, self._start_s = publish, stop_asked, start_s
        self._period_s = period_s
        self._due_s: float | None = None
        self._grid_s: float | None = None
        self._sampled_s: float | None = None
        self._trust = SampleTrust()
        self._next_forecast_s = 0.0
        self._warnings = WarningEvents()
        self.last: Sample | None = None
        self.load_is_on(False)

    @property
    def forecast(self) -> ForecastGuard | None:
        """The guard that identifies the cooling, where the profile asks for it.

        A stage that knows its watts sets `forecast.watch.plan`, and takes it away at its end.
        """
        return self._guards.forecast

    def pause(self, each: Callable[[], None] | None = None) -> None:
        """Let time pass until the next sample is due, one period after this one was.

        `each` is called as often as it can be meanwhile: what it looks at must answer at once.

        What reading, judging and writing took is not added to the period. Where the next moment is
        over already its sample is taken at once, late, and further moments that are over are
        passed over.
        """
        now = self._clock.monotonic_s()
        due = (now if self._grid_s is None else self._grid_s) + self._period_s
        wait_s = due - now
        if abs(wait_s - self._period_s) < _SAME_S:
            # On a clock that only sleeping moves, exactly one period each time.
            wait_s, due = self._period_s, now + self._period_s
        passed_over = max(0, math.floor(-wait_s / self._period_s))
        self._due_s, self._grid_s = due, due + passed_over * self._period_s
        self._pass(max(0.0, wait_s), each)

    def _pass(self, seconds: float, each: Callable[[], None] | None) -> None:
        if each is None:
            self._clock.sleep_s(seconds)
            return
        end_s = self._clock.monotonic_s() + seconds
        while (left_s := end_s - self._clock.monotonic_s()) > _SAME_S:
            self._clock.sleep_s(min(left_s, _BETWEEN_S))
            each()

    def why_unwatched(self) -> NotMeasured | None:
        """Why no guard has a temperature to watch now; None where one has, or the card is gone."""
        if self._card is None or not self._card.present():
            return None
        told = possible(self._card.telemetry())
        if self._guards.can_watch(told):
            return None
        unread = told.gpu_temp_c
        return unread if isinstance(unread, NotMeasured) else NotMeasured(ReadingReason.NOT_READ())

    def load_is_on(self, on: bool) -> None:
        """Whether a load is on from now: a card at work is waited for less long."""
        card: object = self._card
        if isinstance(card, KnowsLoad):
            card.load_is_on(on)

    def cools(self, stage: str) -> bool:
        """Take a sample with the load off; False: there is nothing to watch, the card is gone or
        its driver hangs."""
        sample = self.observe(stage)
        return sample.present and not hangs(sample)

    def elapsed_s(self) -> float:
        """Seconds since the run began."""
        return self._clock.monotonic_s() - self._start_s

    def heed_stop(self) -> None:
        """Raise StoppedByHand where somebody asked the run to end."""
        asked = self._stop_asked()
        if asked:
            by_hand = GuardReason.STOPPED_BY_HAND()
            raise StoppedByHand(by_hand if isinstance(asked, bool) else asked)

    def look(self, stage: str, *, load_share: float = 0.0, load_w: float | None = None) -> Sample:
        """Take a sample, put it on record, let the guards judge it.

        Raises LoadStopped when a guard trips and StoppedByHand after Ctrl-C or a signal. Without a
        card (software adapter) nothing is sampled and nothing guarded.
        """
        self.heed_stop()
        sample = self._sample(stage, load_share, load_w)
        self.last = sample
        if self._card is None:
            return sample
        self._publish(SampleTaken(sample))
        trip = self._guards.judge(sample)
        if trip is not None:
            raise LoadStopped(trip)
        self._tell_warning(sample)
        self._forecast(sample)
        return sample

    def observe(self, stage: str) -> Sample:
        """Take a sample with the load off and put it on record; no guard judges it any more.

        The cooling is learnt from it: after a stop the cool-down identifies the block.
        """
        sample = self._sample(stage, 0.0, None)
        self.last = sample
        if self._card is not None:
            self._publish(SampleTaken(sample))
            self._guards.observe(sample)
            self._tell_warning(sample)
        return sample

    def _sample(self, stage: str, load_share: float, load_w: float | None) -> Sample:
        began = self._clock.monotonic_s()
        moment = iso(self._clock.utc())
        if self._card is None:
            return Sample(began - self._start_s, moment, stage, Telemetry(), load_share, load_w)
        late_s = None if self._due_s is None else max(0.0, began - self._due_s)
        if self._due_s is None:
            self._grid_s = began
        period_s = None if self._sampled_s is None else began - self._sampled_s
        self._due_s, self._sampled_s = None, began
        is_late = late_s is not None and late_s > LATE_SHARE * self._period_s
        present = self._card.present()
        telemetry = self._card.telemetry() if present else Telemetry()
        took = self._clock.monotonic_s() - began
        sample = Sample(
            began - self._start_s, moment, stage, telemetry, load_share, load_w, took, present,
            period_s, late_s, (SampleFlaw.LATE,) if is_late else (),
        )  # fmt: skip
        return self._trust.see(sample)

    @property
    def warning(self) -> StandingWarning | None:
        """The warning that stands after the last sample: a plan of its own holds back on it."""
        return self._guards.warning()

    def tell_forecasts(self) -> None:
        """Say at the end of a run how good the forecasts were; nothing where none was judged."""
        kept = self._guards.forecasts_kept()
        if kept:
            self._publish(ForecastsJudged(kept, notes_of(kept)))

    def _tell_warning(self, sample: Sample) -> None:
        for event in self._warnings.after(sample, self._guards.warning()):
            self._publish(event)

    def _forecast(self, sample: Sample) -> None:
        if sample.elapsed_s < self._next_forecast_s:
            return
        self._next_forecast_s = sample.elapsed_s + _FORECAST_EVERY_S
        nearest = self.nearest_expectation()
        if nearest is not None:
            self._publish(
                ForecastMade(
                    nearest.guard,
                    nearest.signal,
                    nearest.limit,
                    nearest.crossing_in_s,
                    nearest.forecast,
                    self._guards.foreseen(),
                )
            )

    def nearest_expectation(self) -> Expectation | None:
        """Of all that the guards expect, the crossing that comes first."""
        return self._guards.expectation()
