"""Judges each forecast of a run when its time comes, by the power that then came.

A forecast promises a reading under a power. What power came is known once its time has come, so
that its draws are carried along with the run: an error is the model's, not the plan's.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

from burnin.core.foreseen import Foreseen
from burnin.thermal.cooling_verdict import Estimate, estimate
from burnin.thermal.draws_ahead import Walk
from burnin.thermal.estimator import CoolingWatch
from burnin.thermal.forecast import Ahead
from burnin.thermal.inputs import JUMP_SHARE, JUMP_W, Plan
from burnin.thermal.trials.errors import Judged, RunErrors, Standing, scale_k
from burnin.thermal.trials.expected_reading import expected_die_c

OPENS_S = 1.0
"""Seconds between forecasts that are judged."""
LONGEST_PIECE_S = 3.0
"""Power is carried in pieces of so long, shorter where it moves."""
LONGEST_GAP_S = 5.0
"""Across a longer hole in the rows nothing is judged."""
STEP_OVER_S = 3.0
"""A step of power is told against the mean of so long."""
LOADED_SHARE = 1.3
"""A forecast is a trial of the model where the power is over so many times the least of the run,
at its begin or its end: a card at rest proves nothing."""
SD_OF_95 = 3.92
"""Standard deviations in the width of a normal 95 % interval."""


@dataclass(frozen=True)
class Told:
    """The reading `ahead_s` from now with its 95 % interval, °C, as wide as this run has shown.

    `standing`: whether such forecasts have been wrong in this run and not yet right again.
    `judged`, `held`: how many had their time come, and how many of the intervals held the reading.
    """

    ahead_s: float
    die_c: Estimate
    standing: Standing
    judged: int
    held: int


@dataclass
class _Open:
    """A forecast whose time is to come, and how many of its horizons it has met."""

    at_s: float
    die_c: float
    loaded: bool
    walk: Walk
    allowed: tuple[float, ...]
    met: int = 0
    energy_j: float = 0.0
    span_s: float = 0.0

    def carry(self, span_s: float, mean_w: float, *, due: bool) -> None:
        """Take in a second of the run; even power is carried in longer pieces."""
        if self.span_s > 0.0:
            before_w = self.energy_j / self.span_s
            if abs(mean_w - before_w) > max(JUMP_W, JUMP_SHARE * before_w):
                self._step()
        self.energy_j += mean_w * span_s
        self.span_s += span_s
        if due or self.span_s >= LONGEST_PIECE_S:
            self._step()

    def _step(self) -> None:
        self.walk.step(self.span_s, self.energy_j / self.span_s)
        self.energy_j = self.span_s = 0.0


class ForecastJudge:
    """Watches the forecasts of one run. `heard` is told of every judged one."""

    def __init__(
        self, errors: RunErrors | None = None, heard: Callable[[Judged], None] | None = None
    ) -> None:
        self.errors = RunErrors() if errors is None else errors
        self._heard = heard
        self._ahead_s = tuple(sorted(self.errors.horizons))
        self._open: deque[_Open] = deque()
        self._recent: deque[tuple[float, float]] = deque()
        self._energy_j = self._span_s = 0.0
        self._seen_s = -math.inf
        self._least_w = math.inf

    def see(self, watch: CoolingWatch) -> None:
        """Go on to the row that `watch` took in last."""
        last = watch.last
        if watch.bank is None or last is None or last.time_s <= self._seen_s:
            return
        dt_s = last.time_s - self._seen_s
        self._seen_s = last.time_s
        if dt_s > LONGEST_GAP_S:
            self._open.clear()
            self._recent.clear()
            self._energy_j = self._span_s = 0.0
            self._begin(watch, watch.power.level_w)
            return
        self._energy_j += watch.power.mean_w * dt_s
        self._span_s += dt_s
        if self._span_s < OPENS_S - 1e-6:
            return
        mean_w, span_s = self._energy_j / self._span_s, self._span_s
        self._energy_j = self._span_s = 0.0
        self._least_w = min(self._least_w, mean_w)
        self._recent.append((span_s, mean_w))
        while sum(s for s, _ in self._recent) - self._recent[0][0] >= STEP_OVER_S:
            self._recent.popleft()
        for forecast in self._open:
            due = last.time_s - forecast.at_s >= self._ahead_s[forecast.met] - 1e-6
            forecast.carry(span_s, mean_w, due=due)
            if due:
                self._meet(forecast, last.time_s, last.die_c, mean_w)
        while self._open and self._open[0].met == len(self._ahead_s):
            self._open.popleft()
        self._begin(watch, mean_w)

    def _begin(self, watch: CoolingWatch, mean_w: float) -> None:
        assert watch.last is not None
        loaded = mean_w > LOADED_SHARE * self._least_w
        now_s = watch.last.time_s
        allowed = tuple(self.errors.horizons[h].widening(now_s) for h in self._ahead_s)
        self._open.append(_Open(now_s, watch.last.die_c, loaded, walk_of(watch), allowed))

    def _meet(self, forecast: _Open, now_s: float, read_c: float, mean_w: float) -> None:
        ahead_s, allowed = self._ahead_s[forecast.met], forecast.allowed[forecast.met]
        forecast.met += 1
        if not forecast.loaded and mean_w <= LOADED_SHARE * self._least_w:
            return
        before_w = sum(s * w for s, w in self._recent) / sum(s for s, _ in self._recent)
        expected = estimate(forecast.walk.die_c(mean_w))
        scale = _scale(expected, forecast.die_c, mean_w - before_w)
        missed_k = abs(read_c - expected.value)
        judged = Judged(now_s, ahead_s, missed_k / scale, allowed, missed_k)
        self.errors.add(judged)
        if self._heard is not None:
            self._heard(judged)

    def widened(self, watch: CoolingWatch, plan: Plan, ahead: Ahead) -> Foreseen:
        """What a forecast under `plan` says of a moment, its 95 % band as `tell` has it."""
        expected = estimate(ahead.die_c)
        scale = _scale_under(watch, plan, ahead.ahead_s, expected)
        half_k = self.errors.at(ahead.ahead_s).widening(self._seen_s) * scale
        middle_c = expected.value
        return Foreseen(ahead.ahead_s, middle_c, middle_c - half_k, middle_c + half_k)

    def tell(self, watch: CoolingWatch, plan: Plan, ahead_s: float) -> Told:
        """What the sensor reads `ahead_s` from the last row if `plan` is kept.

        Raises ValueError before the first row and for a time that is not ahead.
        """
        expected, scale = expected_and_scale(watch, plan, ahead_s)
        of_these, now_s = self.errors.at(ahead_s), self._seen_s
        half = of_these.widening(now_s) * scale
        told = Estimate(expected.value, expected.value - half, expected.value + half)
        return Told(ahead_s, told, of_these.standing(now_s), of_these.judged, of_these.held)


def walk_of(watch: CoolingWatch) -> Walk:
    """Draws of the card as it is believed after the last row; ValueError before the first."""
    import numpy as np

    if watch.bank is None:
        raise ValueError("no row was seen yet")
    states, traits, held_k = watch.forecaster.draw(watch.bank)
    return Walk(states, traits, held_k, np.ones(len(states)))


def expected_and_scale(watch: CoolingWatch, plan: Plan, ahead_s: float) -> tuple[Estimate, float]:
    """The model's own forecast of the reading, °C, and the size of its error to be expected, K."""
    expected = expected_die_c(watch, plan, ahead_s)
    return expected, _scale_under(watch, plan, ahead_s, expected)


def _scale_under(watch: CoolingWatch, plan: Plan, ahead_s: float, expected: Estimate) -> float:
    assert watch.last is not None
    now_s, before = watch.last.time_s, watch.last.power_w
    then_s = now_s + ahead_s
    pieces = [plan.watts(then_s - back_s) for back_s in (0.01, 0.5, 1.5, 2.5)]
    end_w, *earlier = [before if w is None else w for w in pieces]
    return _scale(expected, watch.last.die_c, end_w - sum(earlier) / len(earlier))


def _scale(expected: Estimate, begin_c: float, step_w: float) -> float:
    sd_k = (expected.high - expected.low) / SD_OF_95
    return scale_k(sd_k, expected.value - begin_c, step_w)
