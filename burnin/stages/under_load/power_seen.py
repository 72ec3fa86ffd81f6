"""The power while somebody measured: told all the while by a sensor that moves, or not told."""

from __future__ import annotations

from itertools import pairwise
from statistics import fmean

from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured, known
from burnin.core.sample import Sample
from burnin.stages.under_load.meanings import UnderLoadReason

_SILENT_S = 0.6
"""Without a word for longer than this a sensor has not told the power all the while."""
_ONE_VALUE_COUNT = 10
"""A held power swings by more than a sensor's last digit: so many equal values in a row come of a
sensor that stands (common practice, no source)."""
_DIFFERS = 0.1
"""What the energy counter tells counts where it lies below the sensor by more than this share."""

Moment = tuple[float, float]
"""Elapsed seconds, and what was told then."""


class PowerSeen:
    """Samples of one prompt, from the moment at which it was put."""

    def __init__(self, asked_w: float) -> None:
        self._asked_w = asked_w
        self._times_s: list[float] = []
        self._watts: list[Moment] = []
        self._joules: list[Moment] = []

    def see(self, sample: Sample) -> None:
        """One more sample while the prompt stands."""
        at_s, told = sample.elapsed_s, sample.telemetry
        power_w, energy_j = known(told.power_w), known(told.energy_j)
        self._times_s.append(at_s)
        if power_w is not None:
            self._watts.append((at_s, power_w))
        if energy_j is not None:
            self._joules.append((at_s, energy_j))

    def mean_w(self) -> float | NotMeasured:
        """The mean power, or why nobody can say what it was."""
        counted_w = self._by_counter()
        why = self._why_not_told()
        if why is not None:
            return NotMeasured(why) if counted_w is None else counted_w
        told_w = fmean(value for _, value in self._watts)
        if counted_w is not None and counted_w < (1.0 - _DIFFERS) * told_w:
            return counted_w
        return told_w

    def _why_not_told(self) -> Reason | None:
        """Why the sensor does not tell the power of all that time."""
        if not self._watts:
            return UnderLoadReason.POWER_UNREAD(asked_w=self._asked_w)
        silent_s = self._longest_gap_s(self._watts)
        if silent_s > _SILENT_S:
            return UnderLoadReason.POWER_WENT_SILENT(silent_s=silent_s, asked_w=self._asked_w)
        values = {value for _, value in self._watts}
        if len(values) == 1 and len(self._watts) >= _ONE_VALUE_COUNT:
            return UnderLoadReason.POWER_STOOD(told_w=values.pop(), asked_w=self._asked_w)
        return None

    def _by_counter(self) -> float | None:
        """The mean by the energy counter, where it counted from beginning to end."""
        if len(self._joules) < 2 or self._longest_gap_s(self._joules) > _SILENT_S:
            return None
        (first_s, first_j), (last_s, last_j) = self._joules[0], self._joules[-1]
        if last_s <= first_s or last_j <= first_j:
            return None
        return (last_j - first_j) / (last_s - first_s)

    def _longest_gap_s(self, told: list[Moment]) -> float:
        times_s = [self._times_s[0], *(at_s for at_s, _ in told), self._times_s[-1]]
        return max(after - before for before, after in pairwise(times_s))
