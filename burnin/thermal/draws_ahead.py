"""Draws of the cooling's state on their way through watts still to come."""

from __future__ import annotations

import math
from collections.abc import Sequence
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


LONGEST_STEP_S = 12.0
MOST_STEPS = 600
"""Of one segment, two hours; a plan beyond that is carried in longer ones, which stay stable."""


class Walk:
    """Draws on their way through the plan: `heat_network.advance`, what is constant taken out.

    Only block and coolant move; the die follows them without delay.
    """

    def __init__(self, states: Array, traits: Traits, held_k: Array, fan_gain: Array) -> None:
        import numpy as np

        self._block, self._room = states[:, BLOCK], states[:, ROOM]
        self._water = self._room
        self._mount = np.exp(states[:, MOUNT])
        self._per_capacity = np.exp(-states[:, CAPACITY])
        self._away = np.exp(states[:, AWAY])
        self._any_air, self._any_loop = traits.any_air, traits.any_loop
        if self._any_loop:
            self._water = np.where(traits.loop, states[:, WATER], self._room)
            self._radiator = np.exp(states[:, RADIATOR])
            loop_j_per_k = np.exp(-np.where(traits.loop, states[:, LAST], 8.0))
            self._per_loop = traits.loop.astype(float) * loop_j_per_k
        if self._any_air:
            self._forced = self._away * traits.fan_turns * traits.air
            self._bare = np.where(traits.air, STILL_AIR_W_PER_K, self._away)
            self._sets_in_c, self._stops = states[:, LAST] - held_k, traits.stops
            self._fan_gain = fan_gain
        else:
            self._per_s = self._away * self._per_capacity

    def die_c(self, watts: float) -> Array:
        """Die at this power, as soon as it has followed."""
        return self._block + self._mount * watts

    def _conductance(self, watts: float) -> Array:
        import numpy as np

        if not self._any_air:
            return self._away
        share = heat_network.fan_share(self.die_c(watts), self._sets_in_c, self._stops)
        share = np.minimum(share * self._fan_gain, 1.3)
        result: Array = self._bare + self._forced * share**heat_network.FAN_EXPONENT
        return result

    def step(self, dt_s: float, watts: float) -> None:
        """Go on by `dt_s` at `watts`."""
        import numpy as np

        away = self._conductance(watts)
        rest = self._water + watts / away
        per_s = away * self._per_capacity if self._any_air else self._per_s
        after = rest + (self._block - rest) * np.exp(per_s * -dt_s)
        if self._any_loop:
            given_j = watts * dt_s - (after - self._block) / self._per_capacity
            lost_j = dt_s * self._radiator * (self._water - self._room)
            self._water = self._water + self._per_loop * (given_j - lost_j)
        self._block = after

    def along(self, segments: Sequence[tuple[float, float]]) -> Array:
        """Go through segments (length in s, watts); die at begin and end of each, (S, 2, draws)."""
        import numpy as np

        length_s, watts = (np.array(column) for column in zip(*segments, strict=True))
        pieces = [max(1, math.ceil(min(s / LONGEST_STEP_S, MOST_STEPS))) for s, _ in segments]
        blocks = np.empty((len(segments) + 1, len(self._block)))
        blocks[0] = self._block
        if self._any_air or self._any_loop:
            for k, ((s, power_w), count) in enumerate(zip(segments, pieces, strict=True)):
                for _ in range(count):
                    self.step(s / count, power_w)
                blocks[k + 1] = self._block
        else:  # each piece is the same step in closed form: what it needs is found at once
            rests = self._water + watts[:, None] / self._away
            left = np.exp(self._per_s * -(length_s / np.array(pieces))[:, None])
            block = self._block
            for k, count in enumerate(pieces):
                for _ in range(count):
                    block = rests[k] + (block - rests[k]) * left[k]
                blocks[k + 1] = block
            self._block = block
        ends = np.stack([blocks[:-1], blocks[1:]], axis=1)
        result: Array = ends + self._mount * watts[:, None, None]
        return result
