"""The card as a short Cauer ladder: sensor and die, block, coolant, room.

Every function works on arrays whose last axis is the state of `STATES` (one vector a hypothesis or
a draw). Temperatures in °C, conductances in W/K, capacities in J/K, lag in s; what is positive is
held as its logarithm. Power is the board's: the die's share of it is inside the resistances.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from burnin.thermal.priors import STILL_AIR_W_PER_K

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Flags = NDArray[np.bool_]

SENSOR, BLOCK, WATER, MOUNT, CAPACITY, AWAY, RADIATOR, ROOM, LAG, LAST = range(10)
"""Places in the state. LAST: logarithm of the loop's capacity, or where an air fan sets in (°C)."""

SIZE = 10
FAN_EXPONENT = 0.65
"""Conductance grows with fan speed to this power (0.5 to 0.8; from memory)."""
FAN_LEAST, FAN_FULL_C, FAN_ALWAYS_C = 0.32, 81.0, 40.0
REFERENCE_RPM = 3000.0


@dataclass(frozen=True)
class Traits:
    """What does not change of each hypothesis or draw; arrays of bool."""

    air: Flags
    loop: Flags
    stops: Flags
    fan_turns: Flags

    @cached_property
    def any_air(self) -> bool:
        """Whether any has fans of its own: else no fan curve is asked."""
        return bool(self.air.any())

    @cached_property
    def any_loop(self) -> bool:
        """Whether any has a loop: else there is no water to carry."""
        return bool(self.loop.any())

    def take(self, index: NDArray[np.intp]) -> Traits:
        """The traits at `index`."""
        return Traits(
            self.air[index], self.loop[index], self.stops[index], self.fan_turns[index]
        )

    def spread(self) -> Traits:
        """With one more axis, to meet several points a hypothesis."""
        return Traits(
            self.air[:, None], self.loop[:, None], self.stops[:, None], self.fan_turns[:, None]
        )


def fan_share(temp_c: Array, sets_in_c: Array, stops: Flags) -> Array:
    """Share of full speed (0 to 1) that a usual fan curve asks for at this die temperature."""
    import numpy as np

    begin = np.where(stops, sets_in_c, FAN_ALWAYS_C)
    part = np.minimum(np.maximum((temp_c - begin) / (FAN_FULL_C + 4.0 - begin), 0.0), 1.0)
    share = FAN_LEAST + (1.0 - FAN_LEAST) * part
    running = 0.5 + 0.5 * np.tanh((temp_c - (sets_in_c - 1.0)) / 1.4)
    result: Array = np.where(stops, share * running, share)
    return result


def share_of_speed(rpm: float) -> float:
    """Share of the reference speed that a fan's reading means; a fan turns neither way but on."""
    return max(0.0, min(1.4, rpm / REFERENCE_RPM))


def conductance(x: Array, traits: Traits, share: Array | float) -> Array:
    """W/K from the block to the coolant or the room, at this share of full fan speed."""
    import numpy as np

    away: Array = np.exp(x[..., AWAY])
    if not traits.any_air:
        return away
    forced = away * np.asarray(share) ** FAN_EXPONENT * traits.fan_turns
    result: Array = np.where(traits.air, STILL_AIR_W_PER_K + forced, away)
    return result


def advance(
    x: Array, traits: Traits, dt_s: float, power_w: float, share: Array | float
) -> Array:
    """The states after `dt_s` at constant power; parameters stay as they are.

    Each node follows its neighbour by the closed form of one RC element, so that any step is
    stable: T(t) = T_inf + (T_0 - T_inf) exp(-t G/C).
    """
    import numpy as np

    out = x.copy()
    block, water, room = x[..., BLOCK], x[..., WATER], x[..., ROOM]
    away, capacity_j_per_k = conductance(x, traits, share), np.exp(x[..., CAPACITY])
    beyond = np.where(traits.loop, water, room) if traits.any_loop else room
    rest = beyond + power_w / away
    block_after = rest + (block - rest) * np.exp(-away * dt_s / capacity_j_per_k)
    target = block_after + np.exp(x[..., MOUNT]) * power_w
    out[..., BLOCK] = block_after
    out[..., WATER] = room
    out[..., SENSOR] = target + (x[..., SENSOR] - target) * np.exp(-dt_s / np.exp(x[..., LAG]))
    if traits.any_loop:
        loop_j_per_k = np.exp(np.where(traits.loop, x[..., LAST], 8.0))
        given_j = power_w * dt_s - capacity_j_per_k * (block_after - block)
        lost_j = dt_s * np.exp(x[..., RADIATOR]) * (water - room)
        water_after = water + (given_j - lost_j) / loop_j_per_k
        out[..., WATER] = np.where(traits.loop, water_after, room)
    return out
