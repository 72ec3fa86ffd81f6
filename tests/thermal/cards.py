"""Cards of a closed-form kind for these tests: one block behind a mount, read in whole degrees."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from burnin.thermal.inputs import Row


@dataclass(frozen=True)
class OneBlock:
    """A die on one block: T = room + R P + (P/G)(1 - exp(-t G/C)), sensor lag 1 s, rounded."""

    mount_k_per_w: float
    block_j_per_k: float
    away_w_per_k: float
    room_c: float = 24.0
    hotspot_k_per_w: float | None = None

    def rows(
        self, plan: tuple[tuple[float, float], ...], until_s: float, row_s: float = 0.1
    ) -> Iterator[Row]:
        """Rows at 10 Hz, the block's answer taken step by step in closed form."""
        block, sensor = self.room_c, self.room_c
        for k in range(round(until_s / row_s)):
            now = k * row_s
            watts = max([0.0, *[w for s, w in plan if s <= now + 1e-9][-1:]])
            rest = self.room_c + watts / self.away_w_per_k
            decay = math.exp(-row_s * self.away_w_per_k / self.block_j_per_k)
            block = rest + (block - rest) * decay
            target = block + self.mount_k_per_w * watts
            sensor = target + (sensor - target) * math.exp(-row_s / 1.0)
            hot = self.hotspot_k_per_w
            spot = None if hot is None else float(round(sensor + hot * watts))
            yield Row(round(now, 3), watts, float(round(sensor)), spot)

    def crossing_s(self, plan: tuple[tuple[float, float], ...], limit_c: float) -> float:
        """When the die itself crosses, sensor lag left out."""
        block = self.room_c
        for k in range(40_000):
            now = k * 0.01
            watts = max([0.0, *[w for s, w in plan if s <= now + 1e-9][-1:]])
            rest = self.room_c + watts / self.away_w_per_k
            block = rest + (block - rest) * math.exp(-0.01 * self.away_w_per_k / self.block_j_per_k)
            if block + self.mount_k_per_w * watts >= limit_c:
                return now
        return math.inf


LOOP_LIKE = OneBlock(0.06, 320.0, 22.0)
DRY = OneBlock(0.06, 320.0, 0.7)
LOOSE = OneBlock(0.24, 320.0, 22.0)
BARE_SPOT = OneBlock(0.06, 320.0, 22.0, hotspot_k_per_w=0.15)
