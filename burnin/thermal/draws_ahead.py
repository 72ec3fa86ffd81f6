"""Draws of the cooling's state on their way through watts still to come."""

from __future__ import annotations

from typing import TYPE_CHECKING

from burnin.thermal import heat_network
from burnin.thermal.heat_network import (
    AWAY,
    BLOCK,
    CAPACITY,
    LAST,
    MOUNT,
    RADIATOR,
    ROOM,
    WATER,
    Traits,
)
from burnin.thermal.priors import STILL_AIR_W_PER_K

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


class Walk:
    """Draws on their way through the plan: `heat_network.advance`, what is constant taken out.

    Only block and coolant move; the die follows them without delay.
    """

    def __init__(self, states: Array, traits: Traits, held_k: Array, fan_gain: Array) -> None:
        import numpy as np

        self._block, self._room = states[:, BLOCK], states[:, ROOM]
        self._loop = traits.loop.astype(float)
        self._water = np.where(traits.loop, states[:, WATER], self._room)
        self._mount = np.exp(states[:, MOUNT])
        self._per_capacity = np.exp(-states[:, CAPACITY])
        self._away = np.exp(states[:, AWAY])
        self._radiator = np.exp(states[:, RADIATOR])
        self._per_loop = self._loop * np.exp(-np.where(traits.loop, states[:, LAST], 8.0))
        self._any_air, self._any_loop = bool(traits.air.any()), bool(traits.loop.any())
        self._air = traits.air.astype(float)
        self._forced = self._away * traits.fan_turns * traits.air
        self._bare = np.where(traits.air, STILL_AIR_W_PER_K, self._away)
        self._sets_in_c, self._stops = states[:, LAST] - held_k, traits.stops
        self._fan_gain = fan_gain

    def die_c(self, watts: float) -> Array:
        """Die at this power, as soon as it has followed."""
        return self._block + self._mount * watts

    def _conductance(self, watts: float) -> Array:
        import numpy as np

        if not self._any_air:
            return self._bare
        share = heat_network.fan_share(self.die_c(watts), self._sets_in_c, self._stops)
        share = np.minimum(share * self._fan_gain, 1.3)
        result: Array = self._bare + self._forced * share**heat_network.FAN_EXPONENT
        return result

    def step(self, dt_s: float, watts: float) -> None:
        """Go on by `dt_s` at `watts`."""
        import numpy as np

        away = self._conductance(watts)
        rest = self._water + watts / away
        after = rest + (self._block - rest) * np.exp(away * self._per_capacity * -dt_s)
        if self._any_loop:
            given_j = watts * dt_s - (after - self._block) / self._per_capacity
            lost_j = dt_s * self._radiator * (self._water - self._room)
            self._water = self._water + self._per_loop * (given_j - lost_j)
        self._block = after
