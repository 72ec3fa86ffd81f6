"""The card before the first step, and how its state may drift: where every filter begins."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from burnin.thermal.heat_network import (
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
from burnin.thermal.inputs import IDLE_W, Row
from burnin.thermal.priors import Hypothesis, Spread

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

STREAM_WHOLE_K_PER_W = 0.064
"""Die to incoming air of a sound card in a stream, to guess that air from the idle card."""
COLDEST_STREAM_C, WARMEST_STREAM_C, STREAM_SD_K = 14.0, 42.0, 2.5
STREAM_IDLE_W = 170.0
"""A card of that class may idle at so much (118 to 130 W on one card)."""
STREAM_ROOM_DRIFT_K, STREAM_DRIFT = 0.05, 0.004
SHOWS_S = 2.0
"""Within so long a load that has just begun shows in the die."""
MOVES_K, MOVES_K_PER_W = 2.0, 0.0176
"""By so much at least it moves then: 0.032 K/W behind a lag of 2.5 s; a block moves slower."""
COUPLED_SHARE = 0.4
"""How sure that drop is."""
TELLING_W = 120.0
"""From this power on the die's standing still is telling."""


def begins_k(power_w: float) -> float:
    """Rise from which a load is taken to have begun with the record."""
    return max(MOVES_K, MOVES_K_PER_W * power_w)


def settled(first: Row, shown: Row) -> tuple[float, float]:
    """Power that the first temperature goes with, and how sure that is, W.

    Under load that is told by what the die does in the first seconds, up to `shown`: it rises where
    the load has just begun, and stands where it was there before.
    """
    if first.power_w <= IDLE_W:
        return first.power_w, 0.0
    moved_k = shown.die_c - first.die_c
    if moved_k >= begins_k(first.power_w):
        return 0.3 * IDLE_W, 0.0
    if first.power_w >= TELLING_W:
        return first.power_w, 0.1 * first.power_w
    return 0.5 * first.power_w, 0.4 * first.power_w


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


def spreads(hypothesis: Hypothesis) -> dict[int, Spread]:
    """What is believed of each parameter, by its place in the state."""
    return {
        MOUNT: hypothesis.die_block_k_per_w,
        CAPACITY: hypothesis.block_j_per_k,
        AWAY: hypothesis.away_w_per_k,
        RADIATOR: hypothesis.radiator_w_per_k,
        LAG: hypothesis.lag_s,
    }


def log_reach(hypothesis: Hypothesis) -> tuple[Array, Array]:
    """How far each place of the state may walk down and up: parameters have an end."""
    import numpy as np

    down, up = np.full(SIZE, np.inf), np.full(SIZE, np.inf)
    for place, spread in spreads(hypothesis).items():
        down[place], up[place] = spread.log_reach
    return down, up


def begin(hypothesis: Hypothesis, start: Start) -> tuple[Array, Array]:
    """Mean and covariance of one hypothesis before the first step."""
    import numpy as np

    if hypothesis.stream:
        start = start.in_stream()
    mean, sd = np.zeros(SIZE), np.zeros(SIZE)
    above = start.first_c - start.room_c
    mount_k = hypothesis.die_block_k_per_w.median * start.settled_w
    mean[SENSOR], sd[SENSOR] = start.first_c, 0.5
    mean[BLOCK] = start.first_c - mount_k
    sd[BLOCK] = 0.9 + hypothesis.die_block_k_per_w.median * start.settled_sd_w
    mean[ROOM], sd[ROOM] = start.room_c, start.room_sd_k
    mean[WATER], sd[WATER] = start.room_c, start.room_sd_k
    if hypothesis.loop:
        mean[WATER], sd[WATER] = start.room_c + 0.6 * above, 1.0 + 0.3 * abs(above)
    for place, spread in spreads(hypothesis).items():
        mean[place], sd[place] = spread.log, spread.log_sd
    if hypothesis.loop:
        mean[LAST], sd[LAST] = hypothesis.loop_j_per_k.log, hypothesis.loop_j_per_k.log_sd
    else:
        mean[LAST], sd[LAST] = hypothesis.sets_in_c, hypothesis.sets_in_sd_k
    covariance = np.diag(sd * sd)
    # the die is read: the more of its rise lies in the mount, the cooler is the block behind it
    unsure_k = mount_k * sd[MOUNT]
    covariance[BLOCK, MOUNT] = covariance[MOUNT, BLOCK] = -unsure_k * sd[MOUNT]
    covariance[BLOCK, BLOCK] += unsure_k**2
    if hypothesis.loop and start.settled_w > IDLE_W:
        _couple(mean, covariance, start.settled_w / hypothesis.away_w_per_k.median)
    return mean, covariance


def _couple(mean: Array, covariance: Array, drop_k: float) -> None:
    """Under load the block is warmer than its coolant by what the heat's way there costs."""
    mean[WATER] = mean[BLOCK] - drop_k
    covariance[WATER, :] = covariance[BLOCK, :]
    covariance[:, WATER] = covariance[:, BLOCK]
    covariance[WATER, WATER] = covariance[BLOCK, BLOCK] + (COUPLED_SHARE * drop_k) ** 2 + 1.0
