"""A card's power under sliced work: for the controller's tests, with numbers like a real one's.

Power follows the share with a bend, grows with temperature, wavers, and is capped; the energy
counter refreshes every 100 ms, as a recording of a data-centre card showed.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, field

REFRESH_S = 0.1
STEP_S = 0.01


@dataclass
class HeatedCard:
    """`bend` above 0: the first shares cost more than the last; `waver` is a relative deviation;
    the work begins `begins_s` after it was asked for."""

    seed: int
    idle_w: float = 118.0
    full_w: float = 800.0
    cap_w: float = 700.0
    bend: float = 0.0
    waver: float = 0.012
    begins_s: float = 0.0
    share: float = 0.0
    time_s: float = 0.0
    power_w: float = 0.0
    shown_energy_j: float = 0.0
    energy_by_time_j: list[float] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._random = random.Random(self.seed)
        self._temp_c = 35.0
        self._working = 0.0
        self._wavering = 0.0
        self.energy_j = self._random.uniform(0.0, 1e6)
        self._next_refresh_s = self._random.uniform(0.0, REFRESH_S)
        self.shown_energy_j = self.energy_j
        self.power_w = self.idle_w

    def pass_time(self) -> None:
        """Let STEP_S pass."""
        asked = self.share if self.time_s >= self.begins_s else 0.0
        self._working += (asked - self._working) * min(1.0, STEP_S / 0.02)
        drive = self._random.gauss(0.0, self.waver * math.sqrt(2.0 * STEP_S / 0.3))
        self._wavering += drive - self._wavering * STEP_S / 0.3
        bent = self._working + self.bend * self._working * (1.0 - self._working)
        cold_w = self.idle_w + (self.full_w - self.idle_w) * bent
        warm_w = cold_w * (1.0 + 0.0008 * (self._temp_c - 35.0)) * (1.0 + self._wavering)
        self.power_w = min(self.cap_w, warm_w)
        self._temp_c += STEP_S * (35.0 + 0.06 * self.power_w - self._temp_c) / 20.0
        self.energy_j += self.power_w * STEP_S
        self.time_s += STEP_S
        self.energy_by_time_j.append(self.energy_j)
        if self.time_s >= self._next_refresh_s:
            self._next_refresh_s += REFRESH_S
            self.shown_energy_j = self.energy_j

    def mean_w(self, from_s: float, to_s: float) -> float:
        """Mean power between two moments of the past."""
        first, last = round(from_s / STEP_S), round(to_s / STEP_S)
        energy_j = self.energy_by_time_j[last - 1] - self.energy_by_time_j[first - 1]
        return energy_j / ((last - first) * STEP_S)
