"""The card before the first step, and how its state may drift: where every filter begins."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from burnin.guard.cooling.network import (
    AWAY,
    BLOCK,
    CAPACITY,
    LAG,
    LAST,
    MOUNT,
    RADIATOR,
    ROOM,
    SENSOR,
    SIZE,
    WATER,
)
from burnin.guard.cooling.priors import Hypothesis

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

STREAM_WHOLE_K_PER_W = 0.055
"""Die to incoming air of a sound card in a stream, to guess that air from the idle card."""
COLDEST_STREAM_C, WARMEST_STREAM_C, STREAM_SD_K = 14.0, 48.0, 3.0
STREAM_IDLE_W = 170.0
"""A card of that class may idle at so much (118 to 130 W on one card)."""
STREAM_ROOM_DRIFT_K, STREAM_DRIFT = 0.03, 0.004


@dataclass(frozen=True)
class Start:
    """The card before the first step: its first reading, the room, and how sure that is.

    `settled_w` is the power that the first reading goes with, `settled_sd_w` how sure that is: a
    card that begins under load may have begun that very moment. `power_w` is the first power read,
    `ambient_given` whether somebody said what `room_c` is.
    """

    first_c: float
    settled_w: float
    settled_sd_w: float
    room_c: float
    room_sd_k: float
    power_w: float = 0.0
    ambient_given: bool = True

    def in_stream(self) -> Start:
        """The same start for a card in a stream of air, which other cards may have warmed."""
        settled_w, settled_sd_w = self.settled_w, self.settled_sd_w
        if self.power_w <= STREAM_IDLE_W:
            settled_w, settled_sd_w = self.power_w, 0.1 * self.power_w
        above_k = settled_w * STREAM_WHOLE_K_PER_W
        air_c = min(max(self.first_c - above_k, COLDEST_STREAM_C), WARMEST_STREAM_C)
        if self.ambient_given:
            air_c = 0.5 * (self.room_c + max(air_c, self.room_c))
        return replace(
            self, settled_w=settled_w, settled_sd_w=settled_sd_w, room_c=air_c,
            room_sd_k=STREAM_SD_K,
        )  # fmt: skip


def drift_per_s() -> Array:
    """Variance that each place of the state gains a second."""
    import numpy as np

    sd = np.zeros(SIZE)
    sd[SENSOR], sd[BLOCK], sd[WATER], sd[ROOM] = 0.10, 0.06, 0.02, 0.02
    sd[MOUNT], sd[CAPACITY], sd[AWAY], sd[RADIATOR] = 0.004, 0.004, 0.006, 0.003
    return sd * sd


def stream_drift_per_s() -> Array:
    """The same for a card in a stream: the chassis turns its fans as it likes."""
    import numpy as np

    sd = np.sqrt(drift_per_s())
    sd[ROOM], sd[AWAY] = STREAM_ROOM_DRIFT_K, STREAM_DRIFT
    result: Array = sd * sd
    return result


def begin(hypothesis: Hypothesis, start: Start) -> tuple[Array, Array]:
    """Mean and covariance of one hypothesis before the first step."""
    import numpy as np

    if hypothesis.stream:
        start = start.in_stream()
    mean, sd = np.zeros(SIZE), np.zeros(SIZE)
    above = start.first_c - start.room_c
    mean[SENSOR], sd[SENSOR] = start.first_c, 0.5
    mean[BLOCK] = start.first_c - hypothesis.die_block_k_per_w.median * start.settled_w
    sd[BLOCK] = 0.9 + hypothesis.die_block_k_per_w.median * start.settled_sd_w
    mean[ROOM], sd[ROOM] = start.room_c, start.room_sd_k
    mean[WATER] = start.room_c + (0.6 * above if hypothesis.loop else 0.0)
    sd[WATER] = (1.0 + 0.3 * abs(above)) if hypothesis.loop else start.room_sd_k
    for place, spread in (
        (MOUNT, hypothesis.die_block_k_per_w),
        (CAPACITY, hypothesis.block_j_per_k),
        (AWAY, hypothesis.away_w_per_k),
        (RADIATOR, hypothesis.radiator_w_per_k),
    ):
        mean[place], sd[place] = spread.log, spread.log_sd
    mean[LAG], sd[LAG] = hypothesis.lag_s.log, hypothesis.lag_s.log_sd
    if hypothesis.loop:
        mean[LAST], sd[LAST] = hypothesis.loop_j_per_k.log, hypothesis.loop_j_per_k.log_sd
    else:
        mean[LAST], sd[LAST] = hypothesis.sets_in_c, hypothesis.sets_in_sd_k
    return mean, np.diag(sd * sd)
