"""The watch over a run: takes samples, puts each on record, and lets every guard judge it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from burnin.core.clock import Clock, iso
from burnin.core.errors import ReasonedError, StoppedByHand
from burnin.core.events import ForecastMade, Publish, SampleTaken
from burnin.core.sample import Sample, Telemetry
from burnin.guard.forecast_guard import ForecastGuard
from burnin.guard.guard import Expectation, Trip
from burnin.guard.guard_set import GuardSet
from burnin.guard.meanings import GuardReason

_FORECAST_EVERY_S = 5.0


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
        stop_asked: Callable[[], bool],
        start_s: float,
    ) -> None:
        self._card, self._guards, self._clock = card, guards, clock
        self._publish, self._stop_asked, self._start_s = publish, stop_asked, start_s
        self._next_forecast_s = 0.0
        self.last: Sample | None = None

    @property
    def forecast(self) -> ForecastGuard | None:
        """The guard that identifies the cooling, where the profile asks for it.

        A stage that knows its watts sets `forecast.watch.plan`, and takes it away at its end.
        """
        return self._guards.forecast

    def elapsed_s(self) -> float:
        """Seconds since the run began."""
        return self._clock.monotonic_s() - self._start_s

    def look(self, stage: str, *, load_share: float = 0.0, load_w: float | None = None) -> Sample:
        """Take a sample, put it on record, let the guards judge it.

        Raises LoadStopped when a guard trips and StoppedByHand after Ctrl-C. Without a card
        (software adapter) nothing is sampled and nothing guarded.
        """
        if self._stop_asked():
            raise StoppedByHand(GuardReason.STOPPED_BY_HAND())
        sample = self._sample(stage, load_share, load_w)
        self.last = sample
        if self._card is None:
            return sample
        self._publish(SampleTaken(sample))
        trip = self._guards.judge(sample)
        if trip is not None:
            raise LoadStopped(trip)
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
        return sample

    def _sample(self, stage: str, load_share: float, load_w: float | None) -> Sample:
        began = self._clock.monotonic_s()
        moment = iso(self._clock.utc())
        if self._card is None:
            return Sample(began - self._start_s, moment, stage, Telemetry(), load_share, load_w)
        present = self._card.present()
        telemetry = self._card.telemetry() if present else Telemetry()
        took = self._clock.monotonic_s() - began
        return Sample(
            began - self._start_s, moment, stage, telemetry, load_share, load_w, took, present
        )

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
                )
            )

    def nearest_expectation(self) -> Expectation | None:
        """Of all that the guards expect, the crossing that comes first."""
        return self._guards.expectation()
