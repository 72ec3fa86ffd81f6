"""A warning: a limit is likelier than not to be crossed. It ends nothing and changes no verdict.

A warning costs nothing, so that it comes as soon as it is likelier than not; a plan of its own
holds back on it. It stands until the crossing is clearly less likely, or the load is off: what is
near a half is not told anew with every row.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from burnin.core.events import WarningGiven, WarningOver
from burnin.core.meaning import Cause, Check, Note
from burnin.core.sample import Sample
from burnin.guard.meanings import SIGNAL_TERMS, GuardNote
from burnin.thermal.forecast import Forecast

GIVEN_FROM, OVER_BELOW = 0.5, 0.3
"""Probability of a crossing from which a warning is given, and below which it is over: likelier
than not, and clearly not (choice)."""
LIKELY_FOR_S = 8.0
"""For how long every forecast must have said so: what was believed beforehand alone, or one step of
power for a moment, warns of nothing. A crossing that is nearer is warned of at once."""
NEAR_LOOKS = 3
"""So many forecasts in a row must say so in any case."""


@dataclass(frozen=True)
class StandingWarning:
    """What stands after the last row. Probability 0 to 1, times in seconds since the run's start.

    `crossing_in_s`: median time from `seen_s`, the newest forecast, until `limit_c` is crossed.
    `value_c`: what the signal read then, None where it was not read. `cause`: what explains the
    crossing best, with what to look at. `since_s`: when the warning was given.
    """

    guard: str
    signal: str
    value_c: float | None
    limit_c: float
    probability: float
    crossing_in_s: float
    cause: Cause
    check: Check
    since_s: float
    seen_s: float

    def note(self) -> Note:
        """The warning for a catalogue to word."""
        return GuardNote.WARNS(
            signal=SIGNAL_TERMS[self.signal](),
            limit_c=self.limit_c,
            crossing_in_s=self.crossing_in_s,
            sure_pct=100.0 * self.probability,
            cause=self.cause,
        )


class Warner:
    """Decides forecast by forecast whether a warning stands; `standing` is the one that does."""

    def __init__(self) -> None:
        self.standing: StandingWarning | None = None
        self._likely_from_s: float | None = None
        self._looks = 0

    def see(self, time_s: float, forecast: Forecast, told: Callable[[], StandingWarning]) -> None:
        """A forecast under load at `time_s`; `told` makes the warning that it would be."""
        probability = forecast.any_probability
        if self.standing is not None:
            stays = probability >= OVER_BELOW
            since_s = self.standing.since_s
            self.standing = replace(told(), since_s=since_s) if stays else None
        if probability < GIVEN_FROM:
            self._likely_from_s, self._looks = None, 0
            return
        if self._likely_from_s is None:
            self._likely_from_s = time_s
        self._looks += 1
        near = forecast.within(LIKELY_FOR_S) >= GIVEN_FROM
        long = time_s - self._likely_from_s >= LIKELY_FOR_S
        if self.standing is None and self._looks >= NEAR_LOOKS and (near or long):
            self.standing = told()

    def load_is_off(self) -> None:
        """Without load nothing is warned of."""
        self.standing, self._likely_from_s, self._looks = None, None, 0


class WarningEvents:
    """What of warnings is an event: that one was given, and that it is over."""

    def __init__(self) -> None:
        self._told: StandingWarning | None = None

    def after(
        self, sample: Sample, now: StandingWarning | None
    ) -> Iterator[WarningGiven | WarningOver]:
        """The events that follow from what stands after this sample."""
        told, self._told = self._told, now
        same = told is not None and now is not None and told.since_s == now.since_s
        if told is not None and not same:
            why = GuardNote.WARNING_LESS_LIKELY if sample.loaded else GuardNote.WARNING_LOAD_OFF
            stood_s = sample.elapsed_s - told.since_s
            yield WarningOver(sample.stage, told.guard, told.signal, stood_s, why(stood_s=stood_s))
        if now is not None and not same:
            yield WarningGiven(
                sample.stage, now.guard, now.signal, now.value_c, now.limit_c, now.probability,
                now.crossing_in_s, now.cause, now.check, now.note(),
            )  # fmt: skip
