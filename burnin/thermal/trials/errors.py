"""How wrong the forecasts of this run have been: each is judged when its time comes.

Adaptive conformal intervals (Gibbs and Candès 2021, arXiv 2106.00072). An error counts in units of
the scale that the model gave it; the interval's half width is the scale times that quantile of the
errors of this run which keeps all but `OUTSIDE`. A run that has shown nothing yet starts from the
errors on other hosts. The share left outside adapts: it shrinks with every miss.
"""

from __future__ import annotations

import math
from bisect import insort
from dataclasses import dataclass
from enum import StrEnum

from burnin.thermal.trials.prior_errors import LEVELS, PRIOR, Quantiles

OUTSIDE = 0.04
"""Share of the errors of known hosts that may lie outside: fewer than the 5 % of a 95 % interval,
because a host that nobody knows errs more than those that set the prior."""
LEAST_OUTSIDE, MOST_OUTSIDE = 0.01, 0.2
ADAPTS = 0.005
"""By how much of its surprise a judged forecast moves the share left outside."""
PRIOR_COUNTS = 60.0
"""The errors of other hosts count as much as so many of this run."""
FORGETS_S = 180.0
"""An error of this run counts e times less after so long."""
FORGOTTEN, MOST_KEPT = 6.0, 2_000
"""An error older than so many times that is let go, where more than so many are kept."""
NO_MORE = (0.0, 0.0)
SCALE_K = 1.0
"""Least scale of an error: a code, and what the ladder leaves out."""
MOVE_SHARE = 0.1
"""What of a foreseen change of temperature is scale of its error."""
STEP_K_PER_W = 0.02
"""The same of a step of power within the last seconds: sensor and power meter lag."""


class Standing(StrEnum):
    """What this run has shown of forecasts over one horizon; the values are words of records."""

    UNTRIED = "not judged yet"
    HELD = "held"
    WRONG = "wrong in this run"


@dataclass(frozen=True)
class Judged:
    """A forecast whose time has come: when, s; how far ahead it looked, s; error over scale.

    `allowed`: half the width of the interval that was told with it, in scales too. `missed_k`: how
    far from the reading it was, K.
    """

    at_s: float
    ahead_s: float
    off: float
    allowed: float
    missed_k: float = 0.0

    @property
    def held(self) -> bool:
        """Whether the interval held the reading."""
        return self.off <= self.allowed


def scale_k(model_sd_k: float, move_k: float, step_w: float) -> float:
    """The size that an error is expected to have, K.

    `move_k`: foreseen change of the reading. `step_w`: power at that time less its mean over the
    3 s before.
    """
    return math.hypot(SCALE_K, model_sd_k, MOVE_SHARE * move_k, STEP_K_PER_W * step_w)


class HorizonErrors:
    """Errors of the forecasts of one run that looked equally far ahead."""

    def __init__(self, ahead_s: float, prior: Quantiles) -> None:
        self._ahead_s = ahead_s
        shares = [b - a for a, b in zip((0.0, *LEVELS), LEVELS, strict=False)]
        weighed = [(off, PRIOR_COUNTS * s) for off, s in zip(prior, shares, strict=True)]
        self._prior = sorted(weighed, reverse=True)
        self._off: list[tuple[float, float]] = []
        """Error over scale with when it was judged, in order of size."""
        self._count, self._counted_s = 0.0, 0.0
        """What the errors counted at their last one, and when that was."""
        self._outside = OUTSIDE
        self._missed_s = -math.inf
        self.judged = self.held = 0
        self.missed_k = 0.0

    def add(self, judged: Judged) -> None:
        """Take in a judged forecast, in order of time."""
        surprise = OUTSIDE - (0.0 if judged.held else 1.0)
        self._outside += ADAPTS * surprise
        self._outside = min(max(self._outside, LEAST_OUTSIDE), MOST_OUTSIDE)
        self._count = 1.0 + self._count * self._keeps(self._counted_s, judged.at_s)
        self._counted_s = judged.at_s
        insort(self._off, (judged.off, judged.at_s))
        if len(self._off) > MOST_KEPT:
            oldest_s = judged.at_s - FORGOTTEN * FORGETS_S
            self._off = [kept for kept in self._off if kept[1] > oldest_s]
        self.judged, self.held = self.judged + 1, self.held + judged.held
        self.missed_k += judged.missed_k
        if not judged.held:
            self._missed_s = judged.at_s

    @staticmethod
    def _keeps(at_s: float, now_s: float) -> float:
        return math.exp((at_s - now_s) / FORGETS_S)

    def widening(self, now_s: float) -> float:
        """Half width of the 95 % interval in scales."""
        count = PRIOR_COUNTS + self._count * self._keeps(self._counted_s, now_s)
        left, prior = self._outside * count, iter(self._prior)
        of_others = next(prior)
        for off, at_s in reversed(self._off):
            while of_others[0] > off:
                left -= of_others[1]
                if left < 0.0:
                    return of_others[0]
                of_others = next(prior, NO_MORE)
            left -= self._keeps(at_s, now_s)
            if left < 0.0:
                return off
        while of_others is not NO_MORE:
            left -= of_others[1]
            if left < 0.0:
                break
            of_others = next(prior, NO_MORE)
        return of_others[0]

    def standing(self, now_s: float) -> Standing:
        """A miss is made good once all forecasts have held for as long as they look ahead."""
        if now_s - self._missed_s < self._ahead_s:
            return Standing.WRONG
        return Standing.HELD if self.judged else Standing.UNTRIED


class RunErrors:
    """The errors of one run, each horizon by itself."""

    def __init__(self, prior: dict[float, Quantiles] | None = None) -> None:
        known = PRIOR if prior is None else prior
        self.horizons = {ahead_s: HorizonErrors(ahead_s, q) for ahead_s, q in known.items()}

    def add(self, judged: Judged) -> None:
        """Take in a judged forecast, in order of time."""
        self.horizons[judged.ahead_s].add(judged)

    def at(self, ahead_s: float) -> HorizonErrors:
        """Of the horizon that covers a look so far ahead; beyond the last one: of that."""
        fits = [h for h in self.horizons if h >= ahead_s - 1e-6]
        return self.horizons[min(fits, default=max(self.horizons))]
