"""Whether the power sensor can be right, beside the energy counter and the die's own heat."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from burnin.core.evidence.power_sights import AGREES_WITHIN
from burnin.core.evidence.seen import PowerSeen
from burnin.core.meaning import Source
from burnin.core.reading import Limit, NotMeasured, Reading, Verdict, known, not_measured
from burnin.core.sample import Sample, Slowdown
from burnin.guard.sample_trust import is_impossible
from burnin.stages.whole_run.meanings import WholeRunReason

OF_COUNTER = "whole_run_power_of_counter"

_SETTLES_S = 3.0
_LEAST_S = 8.0
_WARMED_K = 8.0
_STOOD_W = 1.0
_FULL_SHARE = 0.5
_COOLEST_ROOM_C = 15.0
_LEAST_J = 100.0
"""Energy that every counter must have seen: the coarsest count whole joules."""
_LEAST_K_PER_W = 0.05
"""What no cooler of one card is below, from the die to the air (best blocks in water; practice)."""


@dataclass(frozen=True)
class _Row:
    at_s: float
    energy_j: float
    power_w: float


@dataclass
class PowerWatch:
    """Sees every sample; `told` gives what came of it."""

    drew_w: float | None = None
    impossible_count: int = 0
    braked: bool = False
    _least_w: float | None = None
    _last_w: float | None = None
    _rest_w: float | None = None
    _rest_c: float = math.inf
    _rested: bool = False
    _worked: bool = False
    _temps_c: tuple[float, float] = (math.inf, -math.inf)
    _since_s: float | None = None
    _first: _Row | None = None
    _last: _Row | None = None
    _load_told_j: float = 0.0
    _told_j: float = 0.0
    _counted_j: float = 0.0
    _stood_j: float = 0.0

    def add(self, sample: Sample) -> None:
        """Take in one sample of a card that is there."""
        told = sample.telemetry
        slowed = told.throttle_reasons
        if not isinstance(slowed, NotMeasured) and Slowdown.POWER_BRAKE in slowed:
            self.braked = True
        if isinstance(told.power_w, NotMeasured):
            self.impossible_count += is_impossible(told.power_w.reason)
        else:
            self._power(told.power_w, loaded=sample.load_share >= _FULL_SHARE)
        temp_c = known(told.gpu_temp_c)
        if temp_c is not None:
            self._temps_c = (min(self._temps_c[0], temp_c), max(self._temps_c[1], temp_c))
            if not sample.loaded and not self._worked:
                self._rest_c = min(temp_c, self._rest_c)
        self._last_w = known(told.power_w) if sample.loaded else None
        self._counter(sample)

    def _power(self, power_w: float, *, loaded: bool) -> None:
        self.drew_w = max(power_w, self.drew_w or 0.0)
        self._least_w = power_w if self._least_w is None else min(power_w, self._least_w)
        if not loaded and not self._worked:
            self._rest_w = power_w if self._rest_w is None else min(power_w, self._rest_w)
        self._worked = self._worked or loaded
        self._rested = self._rested or not loaded

    def _counter(self, sample: Sample) -> None:
        """Power told and energy counted, from a while after a load began until it ends."""
        if sample.load_share < _FULL_SHARE:
            self.end()
            return
        if self._since_s is None:
            self._since_s = sample.elapsed_s
        energy_j, power_w = known(sample.telemetry.energy_j), known(sample.telemetry.power_w)
        settled = sample.elapsed_s - self._since_s >= _SETTLES_S
        if not settled or energy_j is None or power_w is None:
            return
        row, last = _Row(sample.elapsed_s, energy_j, power_w), self._last
        if last is not None:
            self._load_told_j += 0.5 * (last.power_w + power_w) * (row.at_s - last.at_s)
        self._first, self._last = self._first or row, row

    def end(self) -> None:
        """The load is over, or nobody watched for a while: what was told of it is taken in."""
        first, last, told_j = self._first, self._last, self._load_told_j
        self._first, self._last, self._load_told_j, self._since_s = None, None, 0.0, None
        if first is None or last is None or last.at_s - first.at_s < _LEAST_S:
            return
        counted_j = last.energy_j - first.energy_j
        if counted_j > 0.0:  # a counter that restarted says nothing
            self._told_j += told_j
            self._counted_j += counted_j
        elif counted_j == 0.0 and told_j >= _LEAST_J:
            self._stood_j += told_j

    @property
    def of_counter(self) -> float | None:
        """Energy by the power told over that by the counter, under load; None where one lacks."""
        self.end()
        return self._told_j / self._counted_j if self._counted_j > 0.0 else None

    @property
    def counter_stood_j(self) -> float:
        """Energy by the power told in loads in which the counter counted nothing at all, J."""
        self.end()
        return self._stood_j

    def _without_heat(self) -> bool:
        """Whether a die at rest is cooler than any cooler would let it be at the power told."""
        most_w = (self._rest_c - _COOLEST_ROOM_C) / _LEAST_K_PER_W
        return self._rest_w is not None and math.isfinite(most_w) and self._rest_w > most_w

    def told(self, limit_in_force_w: float | None) -> PowerSeen:
        """What speaks for and against the sensor; a load that still goes on is taken in."""
        stood = (
            self.drew_w is not None
            and self._least_w is not None
            and self.drew_w - self._least_w <= _STOOD_W
        )
        warmed = self._temps_c[1] - self._temps_c[0] >= _WARMED_K
        return PowerSeen(
            drew_w=self.drew_w,
            stands=stood and warmed and self._worked and self._rested,
            impossible=self.impossible_count > 0,
            of_counter=self.of_counter,
            limit_in_force_w=limit_in_force_w,
            braked=self.braked,
            rest_w=self._rest_w,
            without_heat=self._without_heat(),
            last_share=self._last_w / self.drew_w if self._last_w and self.drew_w else None,
        )


def counter_readings(power: PowerWatch, source: Source) -> Iterator[Reading]:
    """The power told beside the energy counter, under load; none where a card has no counter.

    A counter that stands under load is none, and the power has nothing beside it.
    Two meters of one current that disagree: one of them is wrong, and nothing that was held or
    judged by the power is sure. Which of the two it is no sample tells, so that nothing fails.
    """
    share = power.of_counter
    limit = Limit(1.0 - AGREES_WITHIN, 1.0 + AGREES_WITHIN)
    if power.counter_stood_j:
        stands = WholeRunReason.COUNTER_STANDS(told_j=power.counter_stood_j)
        yield not_measured(OF_COUNTER, "", stands, limit=limit)
        return
    if share is None:
        return
    if abs(share - 1.0) <= AGREES_WITHIN:
        yield Reading(OF_COUNTER, share, "", 0.0, limit, (), Verdict.PASS, None, source)
        return
    why = WholeRunReason.POWER_DIFFERS(told_pct=100.0 * share)
    yield Reading(OF_COUNTER, share, "", 0.0, limit, (), Verdict.UNSURE, why, source)
