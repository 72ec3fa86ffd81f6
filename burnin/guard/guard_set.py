"""All guards of one run, fitted together: every sample passes them in one order.

Guards see of a sample only what may be used of it (`burnin.guard.sample_trust`). A guard that was
told its signals and is told them no more is blind, and so is one whose sensor is there and answers
wrongly from the start: it lets a load go on for `patience_s`, then ends it. One wrong value neither
stops a load nor blinds. A guard whose signals the card does not offer stands aside.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from burnin.core.foreseen import ForecastsKept, Foreseen
from burnin.core.reading import NotMeasured
from burnin.core.sample import Sample, Telemetry
from burnin.guard.forecast_band import kept_of
from burnin.guard.forecast_cause import still_likely
from burnin.guard.forecast_guard import ForecastGuard
from burnin.guard.guard import Expectation, Guard, Trip
from burnin.guard.meanings import SIGNAL_TERMS, GuardCause, GuardCheck, GuardReason
from burnin.guard.sample_trust import SampleTrust, answers_wrongly
from burnin.guard.warning import StandingWarning

FOR_HEAT = (
    GuardReason.NEAR_LIMIT,
    GuardReason.RISES_TOO_FAST,
    GuardReason.HOT_SPOT_OVER_GPU,
    GuardReason.SLOWED_FOR_HEAT,
    GuardReason.SLOWED_FOR_HEAT_AT,
    GuardReason.PLAN_CROSSES,
    GuardReason.HELD_POWER_CROSSES,
)
"""Stops for heat of die or hot spot: the model of the cooling explains them."""
MEMORY = "memory_temp_c"
"""It knows nothing of the memory's."""


@dataclass(frozen=True)
class FittedGuard:
    """A guard with the name of its kind, and the settings and facts that it was fitted with.

    `needs`: the signals of telemetry without which it is blind.
    """

    kind: str
    guard: Guard
    settings: Mapping[str, object]
    needs: tuple[str, ...] = ()


class _Sight:
    """Whether one guard still sees its signals."""

    def __init__(self, needs: tuple[str, ...]) -> None:
        self._needs = needs
        self._had: set[str] = set()
        self._blind_from_s: float | None = None

    def blind(self, sample: Sample) -> tuple[str, NotMeasured, float] | None:
        """The signal that is missed, why, and for how many seconds of load; None where it sees."""
        missed: tuple[str, NotMeasured] | None = None
        for name in self._needs:
            value = getattr(sample.telemetry, name)
            if not isinstance(value, NotMeasured):
                self._had.add(name)
            elif missed is None and (name in self._had or answers_wrongly(value.reason)):
                missed = name, value
        if missed is None or not sample.loaded:
            self._blind_from_s = None
            return None
        if self._blind_from_s is None:
            self._blind_from_s = sample.elapsed_s
        return *missed, sample.elapsed_s - self._blind_from_s


class GuardSet:
    """The guards of one run; stateful, so that each run gets its own.

    `patience_s`: for how long a load goes on past a guard that has become blind.
    """

    def __init__(self, fitted: Sequence[FittedGuard] = (), patience_s: float = 5.0) -> None:
        self._fitted = tuple(fitted)
        self._patience_s = patience_s
        self._trust = SampleTrust()
        self._sights = tuple(_Sight(one.needs) for one in self._fitted)
        self.guards: tuple[Guard, ...] = tuple(one.guard for one in self._fitted)
        found = (guard for guard in self.guards if isinstance(guard, ForecastGuard))
        self.forecast: ForecastGuard | None = next(found, None)

    def judge(self, sample: Sample) -> Trip | None:
        """The first guard's trip on this sample; those behind it then see it no more."""
        sample = self._trust.see(sample)
        for one, sight in zip(self._fitted, self._sights, strict=True):
            trip = one.guard.judge(sample) or self._blind(one, sight, sample)
            if trip is not None:
                return self._explained(trip)
        return None

    def _explained(self, trip: Trip) -> Trip:
        """A stop for heat with all causes that the model of the cooling leaves likely."""
        heat = trip.reason.means(*FOR_HEAT) and trip.signal != MEMORY
        if not heat or self.forecast is None or self.forecast.watch.bank is None:
            return trip
        return replace(trip, likely=still_likely(self.forecast.watch))

    def _blind(self, one: FittedGuard, sight: _Sight, sample: Sample) -> Trip | None:
        missed = sight.blind(sample)
        if missed is None or not sample.present:
            return None
        signal, why, blind_s = missed
        if blind_s <= self._patience_s:
            return None
        reason = GuardReason.BLIND(
            signal=SIGNAL_TERMS[signal](),
            blind_s=blind_s,
            allowed_s=self._patience_s,
            because=why.reason,
        )
        return Trip(
            one.guard.name, signal, blind_s, self._patience_s, reason,
            GuardCause.DRIVER_OR_SENSOR(), GuardCheck.DRIVER(),
        )  # fmt: skip

    def can_watch(self, telemetry: Telemetry) -> bool:
        """Whether any guard has a temperature to watch: no load may be given without one."""
        temps = {name for one in self._fitted for name in one.needs if name.endswith("_temp_c")}
        return any(not isinstance(getattr(telemetry, name), NotMeasured) for name in temps)

    def observe(self, sample: Sample) -> None:
        """A sample that nothing can be stopped on any more: the cooling is learnt from it."""
        sample = self._trust.see(sample)
        if self.forecast is not None:
            self.forecast.observe(sample)

    def expectation(self) -> Expectation | None:
        """Of all that the guards expect, the crossing that comes first."""
        told = [e for guard in self.guards if (e := guard.expectation()) is not None]
        crossing = [e for e in told if e.crossing_in_s is not None]
        if crossing:
            return min(crossing, key=lambda e: e.crossing_in_s or 0.0)
        return told[0] if told else None

    def warning(self) -> StandingWarning | None:
        """The warning that stands after the last sample; None: no crossing is likelier than not.

        It never stands on a sample without load, and ends nothing by itself.
        """
        return None if self.forecast is None else self.forecast.warning

    def foreseen(self) -> tuple[Foreseen, ...]:
        """What the die should read some seconds from now; empty without load or model."""
        return () if self.forecast is None else self.forecast.band.now()

    def came_due(self) -> tuple[Foreseen, ...]:
        """What had been foreseen of the last sample, 10 s and 30 s before."""
        return () if self.forecast is None else self.forecast.band.due

    def forecasts_kept(self) -> tuple[ForecastsKept, ...]:
        """How good such forecasts were so far."""
        return () if self.forecast is None else kept_of(self.forecast.trials.errors)

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
