"""What the run has shown of the cooling: elements with intervals, state, steadiness, rated rise."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from burnin.thermal.causes import told_causes
from burnin.thermal.draws_ahead import Walk
from burnin.thermal.estimator import CoolingWatch
from burnin.thermal.filter_bank import Bank
from burnin.thermal.heat_network import (
    AWAY,
    CAPACITY,
    LAST,
    MOUNT,
    RADIATOR,
    SENSOR,
    conductance,
    fan_share,
    share_of_speed,
)
from burnin.thermal.states import CANNOT_TELL, Cooling, CoolingState

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

TELLS_AT = 0.7
"""Probability from which a cooling state is named."""
STEADY_K, STEADY_OVER_S = 1.0, 60.0
"""Steady: under 1 K of further rise in the next minute at the present power."""
SETTLED_S, SETTLING_STEP_S = 3600.0, 5.0
"""The step stays well below the time constant of water that stands in a block (about 15 s)."""
TOLD_SHARE = 0.8
"""A parameter whose standard deviation is still so much of what it was before the first row was
believed, not measured."""


@dataclass(frozen=True)
class Estimate:
    """A value with the bounds of its 95 % interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class CoolingVerdict:
    """The verdict on cooling after the last row.

    `state` is a cooling state, or that none can be told yet. `resistance_k_per_w` and
    `capacity_j_per_k` hold an estimate an element. `steady` is None where nothing was seen yet.
    """

    state: CoolingState
    probability: float
    probabilities: dict[Cooling, float]
    resistance_k_per_w: dict[str, Estimate]
    capacity_j_per_k: dict[str, Estimate]
    steady: bool | None
    believed: frozenset[str] = frozenset()
    """Elements whose interval is hardly narrower than what was believed before the first row."""

    def as_plain(self) -> dict[str, object]:
        """State, probabilities and resistances as JSON can hold them."""
        return {
            "cooling": {
                "state": str(self.state),
                "probability": round(self.probability, 4),
                "probabilities": {str(s): round(p, 4) for s, p in self.probabilities.items()},
            },
            "resistance_k_per_w": {
                name: {
                    "value": round(e.value, 4),
                    "low": round(e.low, 4),
                    "high": round(e.high, 4),
                    "told_by_the_rows": name not in self.believed,
                }
                for name, e in self.resistance_k_per_w.items()
            },
        }


def estimate(values: Array) -> Estimate:
    """Median and 95 % interval of draws."""
    import numpy as np

    # As np.percentile has it, at a tenth of its cost: asked each second of every open forecast.
    last = len(values) - 1
    places = [0.025 * last, 0.5 * last, 0.975 * last]
    low, middle, high = np.interp(places, np.arange(last + 1), np.sort(values)).tolist()
    return Estimate(middle, low, high)


def name_state(probabilities: dict[Cooling, float]) -> tuple[CoolingState, float]:
    """The most probable state with its probability, or that it cannot be told yet."""
    state, probability = max(probabilities.items(), key=lambda kv: kv[1])
    return (state if probability >= TELLS_AT else CANNOT_TELL), probability


def judge_cooling(watch: CoolingWatch, fan_rpm: float | None = None) -> CoolingVerdict:
    """The verdict on what was seen so far.

    `fan_rpm`: speed at which a fan-cooled resistance is told; None: that of the last row, or what
    the usual curve asks for where none was read.
    """
    import numpy as np

    chances = told_causes(watch)
    state, probability = name_state(chances)
    if watch.bank is None or watch.last is None:
        return CoolingVerdict(state, probability, chances, {}, {}, None)
    states, traits, held_k = watch.forecaster.draw(watch.bank)
    rpm = watch.last.fan_rpm if fan_rpm is None else fan_rpm
    share: Array | float = (
        fan_share(states[:, SENSOR], states[:, LAST] - held_k, traits.stops)
        if rpm is None
        else share_of_speed(rpm)
    )
    away = conductance(states, traits, share)
    loops = float(traits.loop.mean()) > 0.5
    second = "block_to_coolant" if loops else "block_to_room"
    resistances = {
        "die_to_block": estimate(np.exp(states[:, MOUNT])),
        second: estimate(1.0 / away),
    }
    places = {"die_to_block": MOUNT, second: AWAY, "block": CAPACITY}
    capacities = {"block": estimate(np.exp(states[:, CAPACITY]))}
    if loops:
        wet = states[traits.loop]
        resistances["coolant_to_room"] = estimate(np.exp(-wet[:, RADIATOR]))
        capacities["coolant"] = estimate(np.exp(wet[:, LAST]))
        places |= {"coolant_to_room": RADIATOR, "coolant": LAST}
    if watch.spot.seen:
        middle, low, high = watch.spot.interval()
        resistances["die_to_hotspot"] = Estimate(middle, low, high)
    walk = Walk(states, traits, held_k, np.ones(len(states)))
    before = walk.die_c(watch.last.power_w)
    for _ in range(6):
        walk.step(STEADY_OVER_S / 6.0, watch.last.power_w)
    drift = np.abs(walk.die_c(watch.last.power_w) - before)
    steady = bool(np.median(drift) < STEADY_K)
    believed = frozenset(n for n, place in places.items() if _untold(watch.bank, place, loops))
    return CoolingVerdict(state, probability, chances, resistances, capacities, steady, believed)


def _untold(bank: Bank, place: int, loops: bool) -> bool:
    """Whether the rows have told hardly anything of a parameter: its spread is as it was."""
    import numpy as np

    weights = bank.weights() * (bank.traits.loop == loops)
    before = bank.prior_sd[:, place]
    now = np.sqrt(bank.p[:, place, place])
    return bool((weights * now).sum() > TOLD_SHARE * (weights * before).sum())


def rise_at(watch: CoolingWatch, power_w: float) -> Estimate:
    """Rise of the die over the coolest reading of the run, at rest under `power_w`.

    Fans follow their curve. Where the die comes to rest is told well by a run; how warm the room is
    is not, so that the rise is given over what was read. Raises ValueError before the first row.
    """
    import numpy as np

    if watch.bank is None or watch.coolest_c is None:
        raise ValueError("no row was seen yet")
    if not (math.isfinite(power_w) and power_w > 0.0):
        raise ValueError(f"power must be above 0 W, not {power_w}")
    states, traits, held_k = watch.forecaster.draw(watch.bank)
    walk = Walk(states, traits, held_k, np.ones(len(states)))
    for _ in range(round(SETTLED_S / SETTLING_STEP_S)):
        walk.step(SETTLING_STEP_S, power_w)
    return estimate(walk.die_c(power_w) - watch.coolest_c)
