"""'Unknown' as a cause of its own: whether any model of the bank explains what is read.

Beside the bank runs a description that knows no cooling: the reading goes on as it has gone, within
`SPREAD_K`, and may leap with the power. Where it foretells the codes better than all models
together, none of them fits: the card, its sensor or its room does what no model here has. It may
begin at any step and may end again (a two-state hidden Markov model; the forward recursion of
Rabiner 1989, Proc. IEEE 77, 257).
"""

from __future__ import annotations

import math

from burnin.thermal.filter_bank import LEAST_EVIDENCE, TEMPER

PRIOR = 0.03
"""Share of cards that do what no model has from their first row on."""
BEGINS, ENDS = 0.001, 0.02
"""Chance a step that it begins, and that it ends."""
SPREAD_K = 0.6
"""How far a reading strays from going on as it has gone."""
LEAPS_K_PER_W = 0.06
"""What a watt more may add to that at once: as a sound mount of the 300 W class does."""
FOLLOWS_S = 2.0
MOST_EVIDENCE = 3.0
"""Logarithm of what one code may say: no single reading decides."""


class Unexplained:
    """Follows the steps of one run; `probability` that no model of the bank explains it."""

    def __init__(self) -> None:
        self.probability = PRIOR
        self._before: tuple[float, float] | None = None
        self._rate_k_per_s = 0.0

    def add(
        self, dt_s: float, power_w: float, cell: tuple[float, float], fit: float, *, settled: bool
    ) -> None:
        """Take in one code; `fit`: how probable all models together had made it.

        `settled`: the last step of power is some seconds ago. Before that, sensor, meter and the
        short ladder are late in ways of their own, and a misfit proves nothing.
        """
        lower_c, upper_c = cell
        middle_c = 0.5 * (lower_c + upper_c)
        before, self._before = self._before, (middle_c, power_w)
        if before is None or dt_s <= 0.0:
            return
        moves_k = self._rate_k_per_s * dt_s
        leap_k = LEAPS_K_PER_W * (power_w - before[1])
        sd_k = math.hypot(SPREAD_K, moves_k, leap_k)
        foretold_c = before[0] + moves_k
        inside = _normal((upper_c - foretold_c) / sd_k) - _normal((lower_c - foretold_c) / sd_k)
        says = TEMPER * math.log(max(inside, LEAST_EVIDENCE) / max(fit, LEAST_EVIDENCE))
        says = min(max(says, -MOST_EVIDENCE), MOST_EVIDENCE if settled else 0.0)
        known = self.probability
        now = (known * (1.0 - ENDS) + (1.0 - known) * BEGINS) * math.exp(says)
        other = (1.0 - known) * (1.0 - BEGINS) + known * ENDS
        self.probability = now / (now + other)
        rate = (middle_c - before[0]) / dt_s
        self._rate_k_per_s += (1.0 - math.exp(-dt_s / FOLLOWS_S)) * (rate - self._rate_k_per_s)


def _normal(z: float) -> float:
    return 0.5 * (1.0 + math.erf(z / math.sqrt(2.0)))
