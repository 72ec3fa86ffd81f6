"""A bank of filters, one a hypothesis: states, covariances and the weight of each.

Sigma points (cubature rule: 2n points at sqrt(n) standard deviations) carry each Gaussian through
the network; codes update it (`sensor_steps`). Weights follow Bayes with tempered evidence, because
what the short ladder leaves out makes neighbouring residuals alike.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from burnin.thermal import heat_network
from burnin.thermal.heat_network import (
    BLOCK,
    LAST,
    MOUNT,
    SENSOR,
    SIZE,
    Traits,
)
from burnin.thermal.priors import Hypothesis
from burnin.thermal.starting_state import Start, begin, drift_per_s, log_reach, stream_drift_per_s
from burnin.thermal.states import CooledBy

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

READ_SD_K = 0.30
"""Noise of one reading before it is cut to a code, what the ladder leaves out included."""
FAN_DRIFT_K = 0.15
HYSTERESIS_K = 5.0
"""A fan that has set in stays on until the die is so much cooler (common practice, no source)."""
TEMPER = 0.6
LEAST_EVIDENCE = 1e-4
MOST_SURPRISE = 3.0
"""A reading further off than so many standard deviations is taken as that much noisier."""
SWING_FOLLOWED = 0.35
"""Share of a swing of power that the die shows: it and its sensor smooth the rest (estimate)."""
EARLY_S = 0.15
"""A temperature may be so much ahead of the power that is read with it, or behind (a power that is
the mean of the last second lags by half of one)."""
LEFT_OUT = -60.0
OTHER_WORK_LOG_SD = 0.35
TRANSIENT_SHARE = 0.07
"""Uncertainty gained while the sensor runs after a step, as a share of what it still has to run."""


_WIDENED = 1e-9
"""Added to each variance before its root is taken."""
_ROUNDING = 1e-12
"""Of the largest variance: what rounding in sums over all states loses, with room."""


class Bank:
    """Means (K, 10), covariances (K, 10, 10) and log weights (K,) of K hypotheses."""

    def __init__(self, hypotheses: tuple[Hypothesis, ...], start: Start) -> None:
        import numpy as np

        self.hypotheses = list(hypotheses)
        pairs = [begin(h, start) for h in hypotheses]
        self.x: Array = np.array([m for m, _ in pairs])
        self.p: Array = np.array([c for _, c in pairs])
        self.log_weight: Array = np.log(np.array([h.weight for h in hypotheses]))
        self.prior_sd: Array = np.sqrt(np.diagonal(self.p, axis1=1, axis2=2))
        reach = [log_reach(h) for h in hypotheses]
        self.least: Array = self.x - np.array([down for down, _ in reach])
        self.most: Array = self.x + np.array([up for _, up in reach])
        self.offset = 0.0
        self.fit = 1.0
        """How probable all hypotheses together had made the last code."""
        self.held_k: Array = np.zeros(len(hypotheses))
        self._drift: Array = drift_per_s()
        self._rooted: tuple[Array, Array] | None = None
        self.retrait()

    def retrait(self) -> None:
        """Traits anew from the hypotheses, after one was added or taken away."""
        import numpy as np

        table = [(h.air, h.loop, h.stops, h.fan_turns) for h in self.hypotheses]
        self.traits = Traits(*np.array(table, dtype=bool).T)
        self._traits_of_points = self.traits.spread()
        stream = np.array([h.stream for h in self.hypotheses])[:, None]
        self._drift = np.where(stream, stream_drift_per_s(), drift_per_s())

    def put(self, place: int, other: Bank, log_weight: float) -> None:
        """Set the single hypothesis of `other` at `place`, or add it at the end."""
        import numpy as np

        if place == len(self.hypotheses):
            self.hypotheses.append(other.hypotheses[0])
            self.x = np.concatenate([self.x, other.x])
            self.p = np.concatenate([self.p, other.p])
            self.log_weight = np.append(self.log_weight, log_weight)
            self.held_k = np.append(self.held_k, other.held_k)
            self.least = np.concatenate([self.least, other.least])
            self.most = np.concatenate([self.most, other.most])
            self.prior_sd = np.concatenate([self.prior_sd, other.prior_sd])
        else:
            self.hypotheses[place] = other.hypotheses[0]
            self.x, self.p = self.x.copy(), self.p.copy()
            self.log_weight = self.log_weight.copy()
            self.x[place], self.p[place] = other.x[0], other.p[0]
            self.log_weight[place] = log_weight
            self.held_k, self.prior_sd = self.held_k.copy(), self.prior_sd.copy()
            self.held_k[place], self.prior_sd[place] = other.held_k[0], other.prior_sd[0]
            self.least, self.most = self.least.copy(), self.most.copy()
            self.least[place], self.most[place] = other.least[0], other.most[0]
        self.retrait()

    def only(self, kind: CooledBy) -> None:
        """Leave out every hypothesis that is not cooled so, those opened later included."""
        import numpy as np

        fits = np.array([h.cooled_by is kind for h in self.hypotheses])
        self.log_weight = np.where(fits, self.log_weight, LEFT_OUT)

    def weights(self) -> Array:
        """Probability of each hypothesis."""
        import numpy as np

        raw = np.exp(self.log_weight - self.log_weight.max())
        result: Array = raw / raw.sum()
        return result

    def roots(self) -> Array:
        """Lower Cholesky factor of each covariance; a step and the forecasts after it share them.

        They are of the array that `p` is: whoever changes covariances sets others.
        """
        import numpy as np

        if self._rooted is not None and self._rooted[0] is self.p:
            return self._rooted[1]
        try:
            widened = self.p + _WIDENED * np.eye(SIZE)
            root: Array = np.linalg.cholesky(widened).astype(np.float64, copy=False)
        except np.linalg.LinAlgError:
            root = self._mended()
        self._rooted = self.p, root
        return root

    def _mended(self) -> Array:
        """Roots of the covariances nearest to those that rounding made none, a little widened.

        How much widening a root needs grows with the largest variance: a reading out of all reason
        may leave one of a billion beside one of a billionth.
        """
        import numpy as np

        values, vectors = np.linalg.eigh(self.p)
        least = np.maximum(1e-9, _ROUNDING * values.max(axis=-1, keepdims=True))
        fixed = vectors * np.sqrt(np.maximum(values, least))[:, None, :]
        self.p = fixed @ np.swapaxes(fixed, 1, 2)
        widened = (1e-7 + least)[..., None] * np.eye(SIZE)
        root: Array = np.linalg.cholesky(self.p + widened).astype(np.float64, copy=False)
        return root

    def predict(self, dt_s: float, power_w: float, share: float | None) -> None:
        """Carry all hypotheses over `dt_s` at this power; `share` of fan speed where it is read."""
        import numpy as np

        steps = (self.roots() * math.sqrt(SIZE)).transpose(0, 2, 1)
        centre = self.x[:, None, :]
        points = np.empty((len(centre), 2 * SIZE, SIZE))
        np.add(centre, steps, out=points[:, :SIZE])
        np.subtract(centre, steps, out=points[:, SIZE:])
        traits = self._traits_of_points
        if share is not None or not traits.any_air:
            shares: Array | float = 0.0 if share is None else share
        else:
            shares = heat_network.fan_share(
                points[..., SENSOR], points[..., LAST] - self.held_k[:, None], traits.stops
            )
        moved = heat_network.advance(points, traits, dt_s, power_w, shares)
        self.x = moved.sum(axis=1) / (2.0 * SIZE)
        off = moved - self.x[:, None, :]
        self.p = off.transpose(0, 2, 1) @ off / (2.0 * SIZE)
        grown = self._drift * dt_s
        target = self.x[:, BLOCK] + np.exp(self.x[:, MOUNT]) * power_w
        behind = np.abs(target - self.x[:, SENSOR])
        grown[:, SENSOR] += (TRANSIENT_SHARE * behind) ** 2 * min(dt_s, 1.0)
        grown[:, LAST] = np.where(self.traits.stops, FAN_DRIFT_K**2 * dt_s, 0.0)
        self.p.reshape(-1, SIZE * SIZE)[:, :: SIZE + 1] += grown
        if traits.any_air:
            self._hold_fans()

    def other_work(self) -> None:
        """Other work begins: another share of the board's power may pass through the die.

        Work on memory heated the die of one data-centre card by a third less than arithmetic did at
        the same power. Only cards in a stream are loosened so: on others that share is part of the
        spread of the mount.
        """
        import numpy as np

        stream = np.array([h.stream for h in self.hypotheses])
        self.p = self.p.copy()
        self.p[:, MOUNT, MOUNT] += np.where(stream, OTHER_WORK_LOG_SD**2, 0.0)

    def _hold_fans(self) -> None:
        """A fan that has set in for certain stays on some kelvin below."""
        import numpy as np

        above = self.x[:, SENSOR] - self.x[:, LAST]
        sure = 1.5 * np.sqrt(self.p[:, LAST, LAST]) + 0.5
        held = np.where(above > sure, HYSTERESIS_K, self.held_k)
        self.held_k = np.where(above < -HYSTERESIS_K - 1.0, 0.0, held)

    def observe(
        self, lower_c: float, upper_c: float, swing_w: float = 0.0, rate_k_per_s: float = 0.0
    ) -> Array:
        """Take in one code, whose cell is [lower_c, upper_c]; normal residual of each hypothesis.

        `swing_w`: standard deviation of a power that is switched on and off, which the die follows.
        `rate_k_per_s`: how fast the reading has moved of late.
        Residuals are (centre - predicted) / standard deviation, the cell's own width included.
        """
        import numpy as np

        from burnin.thermal.sensor_steps import cut_all

        mean = self.x[:, SENSOR]
        swing_k = np.exp(self.x[:, MOUNT]) * swing_w * SWING_FOLLOWED
        early_k = EARLY_S * rate_k_per_s
        sd = np.sqrt(self.p[:, SENSOR, SENSOR] + READ_SD_K**2 + swing_k**2 + early_k**2)
        width = upper_c - lower_c
        away_k = 0.5 * (lower_c + upper_c) - mean
        residual: Array = away_k / np.sqrt(sd**2 + width**2 / 12.0)
        inside, shift, ratio = cut_all(mean, sd, lower_c, upper_c)
        self.fit = float(self.weights() @ inside)
        surprise_k = np.abs(away_k) / MOST_SURPRISE
        if (surprise_k > sd).any():
            sd = np.maximum(sd, surprise_k)
            _, shift, ratio = cut_all(mean, sd, lower_c, upper_c)
        column = self.p[:, :, SENSOR] / sd[:, None]
        self.x = self.x + column * shift[:, None]
        self.x = np.clip(self.x, self.least, self.most)
        less = (1.0 - ratio)[:, None, None]
        self.p = self.p - less * column[:, :, None] * column[:, None, :]
        self.log_weight = self.log_weight + TEMPER * np.log(np.maximum(inside, LEAST_EVIDENCE))
        best = float(self.log_weight.max())
        self.offset += best
        self.log_weight = np.maximum(self.log_weight - best, -40.0)
        return residual
