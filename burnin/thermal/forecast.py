"""Where the plan leads: draws of the bank, each carried through the watts still to come.

The die is taken as following without delay, T_die = T_block + R x P, so that a crossing is never
foreseen late.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import accumulate
from typing import TYPE_CHECKING

from burnin.thermal import heat_network
from burnin.thermal.draws_ahead import Walk
from burnin.thermal.filter_bank import Bank
from burnin.thermal.heat_network import LAST, SENSOR, SIZE, Traits
from burnin.thermal.hotspot import HotSpot
from burnin.thermal.inputs import Limits, Plan
from burnin.thermal.states import HEALTHY, Cooling

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Flags = NDArray[np.bool_]

DRAWS = 160
NEVER = math.inf
FAN_MEANS_ON = 0.1
"""A share of full speed below which a fan counts as standing."""
SHOWN_S = (5.0, 10.0, 21.0, 30.0, 58.0)
"""Seconds ahead whose draws are kept to be shown and judged: of those at which a forecast looks."""
SHOWN_WITHIN_S = 0.5
BIAS_MEAN_K, BIAS_SD_K = 0.25, 0.8
"""Truth less sensor: half a code where a sensor rounds down, and the sensor's own error."""


@dataclass(frozen=True)
class Ahead:
    """Draws of the die `ahead_s` from now, °C as its sensor reads; mean power until then, W."""

    ahead_s: float
    die_c: Array
    mean_w: float


@dataclass(frozen=True)
class Forecast:
    """What is expected at `time_s`. Probabilities 0 to 1, times in seconds from now.

    `crossing_in_s`: median over the draws that cross (inf: none does), `spot_share`: how many of
    them cross on the hot spot first, `peak_c`: median peak of the die over the plan.
    `crossings_s`: when each draw crosses, `sound`: which of them are of a sound card (None: all).
    `ahead`: what is foreseen at the times of `SHOWN_S` that the plan reaches.
    """

    time_s: float
    any_probability: float
    crossing_in_s: float
    earliest_in_s: float
    spot_share: float
    peak_c: float
    crossings_s: Array
    blame: dict[Cooling, float] = field(default_factory=dict)
    ahead: tuple[Ahead, ...] = ()
    sound: Flags | None = None

    def within(self, seconds: float) -> float:
        """Probability of a crossing within `seconds` from now."""
        return float((self.crossings_s <= seconds).mean())

    def within_though_sound(self, seconds: float) -> float:
        """The same of a card that is sound at once."""
        crosses = self.crossings_s <= seconds
        return float((crosses if self.sound is None else crosses & self.sound).mean())


@dataclass(frozen=True)
class Fans:
    """What is read of the fans: share of the reference speed, None where nothing is read."""

    share: float | None = None


@dataclass(frozen=True)
class _Drawn:
    """Draws, and the beliefs that they are of: states, covariances and traits are set anew when
    they change, weights also in their place."""

    x: Array
    p: Array
    traits: Traits
    log_weight: Array
    draws: tuple[Array, Traits, Array]

    def are_of(self, bank: Bank) -> bool:
        """Whether the bank believes what it did then."""
        same = self.x is bank.x and self.p is bank.p and self.traits is bank.traits
        return same and bool((self.log_weight == bank.log_weight).all())


class Forecaster:
    """Draws and carries them; its random numbers are fixed, so that forecasts vary smoothly."""

    def __init__(self, limits: Limits, seed: int = 5, bias_sd_k: float = BIAS_SD_K) -> None:
        import numpy as np

        rng = np.random.default_rng(seed)
        half = rng.normal(size=(DRAWS // 2, SIZE))
        self._normal: Array = np.concatenate([half, -half])[rng.permutation(DRAWS)]
        self._bias: Array = BIAS_MEAN_K + bias_sd_k * rng.normal(size=DRAWS)
        self._spot_quantile: Array = rng.permutation((np.arange(DRAWS) + 0.5) / DRAWS)
        self._pick: Array = (np.arange(DRAWS) + 0.5) / DRAWS
        self._fan_gain: Array = np.exp(0.10 * rng.normal(size=DRAWS))
        self._limits = limits
        self._drawn: _Drawn | None = None

    def _chosen(self, bank: Bank) -> NDArray[np.intp]:
        """Which hypothesis each draw is of."""
        import numpy as np

        chosen = bank.weights().cumsum().searchsorted(self._pick)
        result: NDArray[np.intp] = np.minimum(chosen, len(bank.hypotheses) - 1)
        return result

    def draw(self, bank: Bank) -> tuple[Array, Traits, Array]:
        """Draws of the bank's states, as many of each hypothesis as its weight asks for.

        The third array says by how many kelvin each draw's fan outlasts the cooling down. Asked
        again of the same beliefs, it gives the same draws.
        """
        import numpy as np

        kept = self._drawn
        if kept is not None and kept.are_of(bank):
            return kept.draws
        chosen = self._chosen(bank)
        roots, states = bank.roots(), bank.x[chosen]
        begin = 0
        for place, count in enumerate(np.bincount(chosen).tolist()):  # in order of the bank
            end = begin + count
            states[begin:end] += self._normal[begin:end] @ roots[place].T
            begin = end
        draws = states, bank.traits.take(chosen), bank.held_k[chosen]
        self._drawn = _Drawn(bank.x, bank.p, bank.traits, bank.log_weight.copy(), draws)
        return draws

    def look(
        self, bank: Bank, spot: HotSpot, plan: Plan, now_s: float, gain: float, power_w: float,
        fans: Fans,
    ) -> Forecast:
        """The forecast from now to the end of the plan."""
        import numpy as np

        states, traits, held_k = self.draw(bank)
        spot_k_per_w = spot.draws(self._spot_quantile) if self._limits.hotspot_c else None
        fan_gain = self._fan_gain * self._gain(states, traits, held_k, fans)
        segments = plan.segments(now_s, gain, power_w)
        die_c = Walk(states, traits, held_k, fan_gain).along(segments)
        at_s = [0.0, *accumulate(length_s for length_s, _ in segments)]
        energy_j = accumulate(length_s * watts for length_s, watts in segments)
        shown: dict[float, Ahead] = {}
        for k, used_j in enumerate(energy_j):
            end_s = at_s[k + 1]
            for wanted_s in SHOWN_S:
                if abs(end_s - wanted_s) < SHOWN_WITHIN_S:
                    shown.setdefault(wanted_s, Ahead(end_s, die_c[k, 1], used_j / end_s))
        crossing, on_spot, peak = self._crossings(die_c, segments, at_s, spot_k_per_w)
        found = self._sum_up(now_s, crossing, on_spot, peak)
        states_of = [bank.hypotheses[place].state for place in self._chosen(bank).tolist()]
        return replace(
            found,
            sound=np.array([state in HEALTHY for state in states_of]),
            blame=self._blame(states_of, crossing),
            ahead=tuple(shown.values()),
        )

    def _blame(self, states_of: Sequence[Cooling], crossing: Array) -> dict[Cooling, float]:
        import numpy as np

        crosses = np.isfinite(crossing)
        blame: dict[Cooling, float] = {}
        for place in np.flatnonzero(crosses).tolist():
            state = states_of[place]
            blame[state] = blame.get(state, 0.0) + 1.0 / int(crosses.sum())
        return blame

    def _gain(
        self, states: Array, traits: Traits, held_k: Array, fans: Fans
    ) -> Array | float:
        """How much faster the fans turn than the usual curve says, where they are read."""
        import numpy as np

        if fans.share is None or fans.share < 0.05:
            return 0.95
        usual = heat_network.fan_share(states[:, SENSOR], states[:, LAST] - held_k, traits.stops)
        result: Array = np.clip(fans.share / np.maximum(usual, 0.05), 0.6, 1.6)
        return np.where(traits.stops & (usual < FAN_MEANS_ON), 0.95, result)

    def _crossings(
        self, die_c: Array, segments: Sequence[tuple[float, float]], at_s: Sequence[float],
        spot_k_per_w: Array | None,
    ) -> tuple[Array, Flags, Array]:
        """When each draw crosses first, whether on the hot spot, and its hottest die.

        `die_c`: at begin and end of each segment; `at_s`: when the first begins, when each ends.
        """
        import numpy as np

        die = (die_c + self._bias).reshape(-1, DRAWS)
        over = die >= self._limits.die_c
        when_s = np.repeat(at_s, 2)[1:-1]
        hot_only = None
        if spot_k_per_w is not None and self._limits.hotspot_c is not None:
            watts = np.repeat([watts for _, watts in segments], 2)[:, None]
            hot = die + spot_k_per_w * watts >= self._limits.hotspot_c
            hot_only = hot & ~over
            over = over | hot
        first = over.argmax(axis=0)
        crosses = over[first, np.arange(DRAWS)]
        on_spot = np.zeros(DRAWS, dtype=bool)
        if hot_only is not None:
            on_spot = hot_only[first, np.arange(DRAWS)]
        return np.where(crosses, when_s[first], NEVER), on_spot, die.max(axis=0)

    def _sum_up(
        self, now_s: float, crossing: Array, on_spot: Flags, peak: Array
    ) -> Forecast:
        import numpy as np

        crosses = np.isfinite(crossing)
        middle_c = float(np.sort(peak)[(DRAWS - 1) // 2 : DRAWS // 2 + 1].mean())
        if not crosses.any():
            return Forecast(now_s, 0.0, NEVER, NEVER, 0.0, middle_c, crossing)
        times = crossing[crosses]
        return Forecast(
            now_s,
            float(crosses.mean()),
            float(np.median(times)),
            float(np.percentile(times, 10.0)),
            float(on_spot[crosses].mean()),
            middle_c,
            crossing,
        )
