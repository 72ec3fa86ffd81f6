"""All guards of one run, fitted together: every sample passes them in one order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from burnin.core.sample import Sample
from burnin.guard.forecast_guard import ForecastGuard
from burnin.guard.guard import Expectation, Guard, Trip


@dataclass(frozen=True)
class FittedGuard:
    """A guard with the name of its kind, and the settings and facts that it was fitted with."""

    kind: str
    guard: Guard
    settings: Mapping[str, object]


class GuardSet:
    """The guards of one run; stateful, so that each run gets its own."""

    def __init__(self, fitted: Sequence[FittedGuard] = ()) -> None:
        self._fitted = tuple(fitted)
        self.guards: tuple[Guard, ...] = tuple(one.guard for one in self._fitted)
        found = (guard for guard in self.guards if isinstance(guard, ForecastGuard))
        self.forecast: ForecastGuard | None = next(found, None)

    def judge(self, sample: Sample) -> Trip | None:
        """The first guard's trip on this sample; those behind it then see it no more."""
        for guard in self.guards:
            trip = guard.judge(sample)
            if trip is not None:
                return trip
        return None

    def observe(self, sample: Sample) -> None:
        """A sample that nothing can be stopped on any more: the cooling is learnt from it."""
        if self.forecast is not None:
            self.forecast.observe(sample)

    def expectation(self) -> Expectation | None:
        """Of all that the guards expect, the crossing that comes first."""
        told = [e for guard in self.guards if (e := guard.expectation()) is not None]
        crossing = [e for e in told if e.crossing_in_s is not None]
        if crossing:
            return min(crossing, key=lambda e: e.crossing_in_s or 0.0)
        return told[0] if told else None

    def settings(self) -> dict[str, dict[str, object]]:
        """Setting by setting what each guard was fitted with, by the name of its kind.

        The facts that it heeds stand beside its settings; several of one kind are numbered.
        """
        told: dict[str, dict[str, object]] = {}
        for one in self._fitted:
            name, number = one.kind, 1
            while name in told:
                number += 1
                name = f"{one.kind} {number}"
            told[name] = dict(one.settings)
        return told
