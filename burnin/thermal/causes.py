"""What the cooling is told to be, with honest doubt: the bank's states, and 'unknown' beside them.

Nothing here ends a load: stops and ramps go by the bank's own probabilities
(`CoolingWatch.probabilities`), as measured and set.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from burnin.thermal.estimator import CoolingWatch
from burnin.thermal.heat_network import AWAY, MOUNT, RADIATOR
from burnin.thermal.priors import STILL_AIR_W_PER_K, Hypothesis
from burnin.thermal.states import HEALTHY, CooledBy, Cooling

SOUND_OF_SMALL = 0.6
"""Of cards whose faulty element is such as a sound smaller card has, so many are sound."""
LEAST_WEIGHT = 1e-6


@dataclass(frozen=True)
class Kelvins:
    """What an element takes at full power, K: median and sd of the logarithm, sound and faulty.

    Of cards of 70 to 1,000 W it is much the same, where the element itself differs tenfold.
    `faulty`: share of cards where it is.
    """

    sound_k: float
    sound_log_sd: float
    faulty_k: float
    faulty_log_sd: float
    faulty: float

    def sound_share(self, kelvin: float) -> float:
        """Probability that an element that takes so much is sound."""
        if kelvin <= self.sound_k:
            return 1.0
        if kelvin >= self.faulty_k:
            return 0.0
        sound = (1.0 - self.faulty) * _density(kelvin, self.sound_k, self.sound_log_sd)
        faulty = self.faulty * _density(kelvin, self.faulty_k, self.faulty_log_sd)
        return sound / (sound + faulty)


LEAP = Kelvins(20.0, 0.4, 70.0, 0.5, 0.12)
"""Die over block (0.04 to 0.10 K/W at 300 W, 0.0275 K/W at 700 W; a mount four times worse)."""
RISE_BY_FANS = Kelvins(20.0, 0.4, 80.0, 0.5, 0.12)
"""Block over room at full fan speed (13 W/K at 300 W); clogged four times over."""
RISE = Kelvins(28.0, 0.45, 100.0, 0.6, 0.12)
"""The same in a stream or a loop (19 to 41 W/K at 700 W; 28 and 22 W/K in a row at 300 W)."""
BLOCK = Kelvins(11.0, 0.45, 44.0, 0.5, 0.12)
"""Block over the coolant of a loop (28 W/K at 300 W)."""
EXCESS = Kelvins(7.2, 0.45, 31.0, 0.5, 0.12)
"""Hot spot over die (0.024 K/W at 300 W; paste missing: 0.105 K/W)."""


def told_causes(watch: CoolingWatch) -> dict[Cooling, float]:
    """Probability of each cause, 'unknown' among them; they sum to 1."""
    if watch.bank is None:
        return watch.probabilities()
    bank, size = watch.bank, _Size(_planned_w(watch), watch.most_w)
    moved = dict.fromkeys(Cooling, 0.0)
    for h, weight, x in zip(bank.hypotheses, bank.weights().tolist(), bank.x.tolist(), strict=True):
        if weight > LEAST_WEIGHT:
            for state, share in _by_size(h, x, size).items():
                moved[state] += weight * share
    chances = _paste_by_size(watch, watch.with_hot_spot(moved), size)
    unknown = watch.unexplained.probability
    told = {state: p * (1.0 - unknown) for state, p in chances.items()}
    told[Cooling.UNKNOWN] += unknown
    total = sum(told.values())
    return {state: p / total for state, p in told.items()}


@dataclass(frozen=True)
class _Size:
    """How large the card is, W: what a told plan goes up to (0: nobody said), and what was seen."""

    planned_w: float
    seen_w: float


def _planned_w(watch: CoolingWatch) -> float:
    plan = watch.setup.plan
    return 0.0 if plan is None else max(watts for _, watts in plan.steps)


def _by_size(h: Hypothesis, x: list[float], size: _Size) -> dict[Cooling, float]:
    """What a hypothesis says of a card of that size; shares sum to 1.

    Priors are of cards of 300 W, in a stream of up to 700 W. What they call sound may take far more
    kelvins than a sound cooler does, at a power that was seen; what they call faulty may be a
    smaller card, where a plan says how small.
    """
    if h.state in HEALTHY:
        sound = math.prod(_sound_shares(h, x, max(size.planned_w, size.seen_w)))
        return {h.state: sound, Cooling.UNKNOWN: 1.0 - sound}
    if size.planned_w == 0.0:
        return {h.state: 1.0}
    leap, *rises = _sound_shares(h, x, max(size.planned_w, size.seen_w))
    in_doubt = {Cooling.POOR_MOUNT: leap, Cooling.CLOGGED: min(rises)}
    if h.cooled_by is not CooledBy.FANS:
        in_doubt[Cooling.FAN_LOST] = min(rises)
    sound = max(0.0, 2.0 * in_doubt.get(h.state, 0.0) - 1.0)  # where sound is likelier than not
    rest = 0.5 * (1.0 - SOUND_OF_SMALL) * sound
    return {
        h.state: 1.0 - sound + rest,
        Cooling.HEALTHY_LOOP if h.loop else Cooling.HEALTHY_AIR: SOUND_OF_SMALL * sound,
        Cooling.UNKNOWN: rest,
    }


def _sound_shares(h: Hypothesis, x: list[float], power_w: float) -> tuple[float, ...]:
    """Probability that mount, whole way out and, in a loop, block take what sound ones do."""
    away_k_per_w = 1.0 / ((STILL_AIR_W_PER_K if h.air else 0.0) + math.exp(x[AWAY]))
    leap = LEAP.sound_share(power_w * math.exp(x[MOUNT]))
    if not h.loop:
        rise = RISE_BY_FANS if h.air else RISE
        return leap, rise.sound_share(power_w * away_k_per_w)
    whole_k_per_w = away_k_per_w + math.exp(-x[RADIATOR])
    block = BLOCK.sound_share(power_w * away_k_per_w)
    return leap, RISE.sound_share(power_w * whole_k_per_w), block


def _paste_by_size(
    watch: CoolingWatch, chances: dict[Cooling, float], size: _Size
) -> dict[Cooling, float]:
    """The same doubt about paste under the hot spot."""
    if not watch.spot.seen or size.planned_w == 0.0:
        return chances
    excess_k = max(size.planned_w, size.seen_w) * watch.spot.interval()[0]
    back = SOUND_OF_SMALL * EXCESS.sound_share(excess_k) * chances[Cooling.MISSING_PASTE]
    sound = max(HEALTHY, key=lambda state: chances[state])
    return chances | {
        sound: chances[sound] + back,
        Cooling.MISSING_PASTE: chances[Cooling.MISSING_PASTE] - back,
    }


def _density(kelvin: float, median_k: float, log_sd: float) -> float:
    return math.exp(-0.5 * (math.log(kelvin / median_k) / log_sd) ** 2) / log_sd
