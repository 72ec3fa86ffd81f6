"""A lumped thermal network: heat capacities joined by conductances, and air around them.

Temperature is the voltage, heat flow the current of an RC network: C_i dT_i/dt = P_i + the sum of
G_ij (T_j - T_i). It is integrated by the classic Runge-Kutta rule of fourth order in sub-steps
well inside its stability limit; a Runge-Kutta rule keeps linear invariants exactly, so that the
heat given to the air balances (Hairer, Lubich, Wanner, Geometric Numerical Integration, IV.1.5).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

_LARGEST_STEP = 0.5
"""Sub-step times the fastest node's rate; the rule is stable to 2.78."""


class ThermalNetwork:
    """Nodes of capacity `capacity_j_per_k`, joined by links (node, node or ``air``, W/K).

    Temperatures are in °C, powers in W, times in s.
    """

    AIR = "air"

    def __init__(self, capacity_j_per_k: Mapping[str, float], start_c: float) -> None:
        self.names: tuple[str, ...] = tuple(capacity_j_per_k)
        self._index = {name: i for i, name in enumerate(self.names)}
        self._capacity = [capacity_j_per_k[name] for name in self.names]
        self._links: dict[tuple[int, int], float] = {}
        self._to_air: list[float] = [0.0] * len(self.names)
        self.temp_c: list[float] = [start_c] * len(self.names)
        self.heat_to_air_j = 0.0
        self._flat: list[tuple[int, int, float]] = []
        self._rate = 0.0

    def join(self, one: str, other: str, conductance_w_per_k: float) -> None:
        """Set the conductance between two nodes, or between a node and ``air``."""
        if other == self.AIR:
            self._to_air[self._index[one]] = conductance_w_per_k
        else:
            self._links[(self._index[one], self._index[other])] = conductance_w_per_k
        self._flat = [(i, j, g) for (i, j), g in self._links.items()]
        total = list(self._to_air)
        for i, j, g in self._flat:
            total[i] += g
            total[j] += g
        self._rate = max(g / c for g, c in zip(total, self._capacity, strict=True))

    def set_to_air(self, node: str, conductance_w_per_k: float) -> None:
        """Change one node's conductance to the air, as fans do."""
        index = self._index[node]
        self._to_air[index] = conductance_w_per_k
        attached = sum(g for i, j, g in self._flat if index in (i, j))
        self._rate = max(self._rate, (conductance_w_per_k + attached) / self._capacity[index])

    def at(self, node: str) -> float:
        """Temperature of a node, °C."""
        return self.temp_c[self._index[node]]

    def stored_j(self, reference_c: float) -> float:
        """Heat held by all nodes above `reference_c`, J."""
        pairs = zip(self._capacity, self.temp_c, strict=True)
        return sum(c * (t - reference_c) for c, t in pairs)

    def advance(self, seconds: float, power_w: Sequence[float], air_c: float) -> None:
        """Let `seconds` pass with `power_w` (one a node, in the order of `names`)."""
        if seconds <= 0.0:
            return
        steps = max(1, math.ceil(seconds * self._rate / _LARGEST_STEP))
        step = seconds / steps
        for _ in range(steps):
            self._step(step, power_w, air_c)

    def _slopes(
        self, temp: Sequence[float], power_w: Sequence[float], air_c: float
    ) -> tuple[list[float], float]:
        heat = list(power_w)
        lost = 0.0
        for i, g in enumerate(self._to_air):
            if g:
                flow = g * (temp[i] - air_c)
                heat[i] -= flow
                lost += flow
        for i, j, g in self._flat:
            flow = g * (temp[i] - temp[j])
            heat[i] -= flow
            heat[j] += flow
        capacity = self._capacity
        return [h / c for h, c in zip(heat, capacity, strict=True)], lost

    def _step(self, h: float, power_w: Sequence[float], air_c: float) -> None:
        start = self.temp_c
        k1, q1 = self._slopes(start, power_w, air_c)
        half = 0.5 * h
        k2, q2 = self._slopes([t + half * k for t, k in zip(start, k1, strict=True)],
                              power_w, air_c)
        k3, q3 = self._slopes([t + half * k for t, k in zip(start, k2, strict=True)],
                              power_w, air_c)
        k4, q4 = self._slopes([t + h * k for t, k in zip(start, k3, strict=True)],
                              power_w, air_c)
        sixth = h / 6.0
        self.temp_c = [
            t + sixth * (a + 2.0 * (b + c) + d)
            for t, a, b, c, d in zip(start, k1, k2, k3, k4, strict=True)
        ]
        self.heat_to_air_j += sixth * (q1 + 2.0 * (q2 + q3) + q4)
