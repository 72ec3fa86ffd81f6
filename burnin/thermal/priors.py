"""What is believed of a card's cooling before the first sample.

Heat capacities follow from masses and handbook values (copper 385, aluminium 897, water
4186 J/kgK): a water block of 0.7 kg copper and 0.1 kg aluminium stores 359 J/K, an air cooler of
0.4 kg copper and 0.5 kg aluminium 603 J/K, 0.8 kg of loop water 3,350 J/K. Resistances are
engineering estimates for cards of the 300 W class. Spreads are standard deviations of logarithms.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from burnin.thermal.states import CooledBy, Cooling

COPPER_J_PER_KG_K = 385.0
ALUMINIUM_J_PER_KG_K = 897.0
WATER_J_PER_KG_K = 4186.0

STILL_AIR_W_PER_K = 1.2
"""Loss of an air cooler and its board without fans."""


def block_capacity_j_per_k(
    copper_kg: float, aluminium_kg: float = 0.0, water_kg: float = 0.0
) -> float:
    """Heat capacity of a cooler of these masses."""
    return (
        copper_kg * COPPER_J_PER_KG_K
        + aluminium_kg * ALUMINIUM_J_PER_KG_K
        + water_kg * WATER_J_PER_KG_K
    )


@dataclass(frozen=True)
class Spread:
    """A positive quantity: its median and the standard deviation of its logarithm.

    What is identified of it never lies further below or above the median than `reach_sd` says,
    in standard deviations.
    """

    median: float
    log_sd: float
    reach_sd: tuple[float, float] = (3.5, 3.5)

    @property
    def log(self) -> float:
        """Logarithm of the median."""
        return math.log(self.median)

    @property
    def log_reach(self) -> tuple[float, float]:
        """How far the logarithm may walk down and up."""
        down_sd, up_sd = self.reach_sd
        return down_sd * self.log_sd, up_sd * self.log_sd


@dataclass(frozen=True)
class Hypothesis:
    """One way in which the card may be cooled, with the spread of every element.

    `away_w_per_k`: from block to coolant (loop) or to the room (air at full fan speed; dry).
    `radiator_w_per_k` and `loop_j_per_k` matter to a loop only. `stops`: the fan stands still
    until the die reaches `sets_in_c`. `fan_turns` is false where no fan turns. `stream`: air
    that the chassis moves, at a speed that nobody tells.
    """

    state: Cooling
    weight: float
    air: bool
    loop: bool
    die_block_k_per_w: Spread
    block_j_per_k: Spread
    away_w_per_k: Spread
    radiator_w_per_k: Spread = Spread(22.0, 0.25)
    loop_j_per_k: Spread = Spread(3350.0, 0.35)
    stops: bool = False
    sets_in_c: float = 55.5
    sets_in_sd_k: float = 3.5
    fan_turns: bool = True
    lag_s: Spread = Spread(1.7, 0.40)
    stream: bool = False

    @property
    def cooled_by(self) -> CooledBy | None:
        """What moves the heat away; None for a dry block."""
        if self.air:
            return CooledBy.FANS
        if self.stream:
            return CooledBy.STREAM
        return CooledBy.WATER if self.loop else None


GOOD_MOUNT = Spread(0.067, 0.25, (3.5, 2.2))
POOR_MOUNT = Spread(0.20, 0.35, (2.0, 3.5))
"""A sound mount has 0.04 to 0.10 K/W: none is found sound over 0.116, none poor under 0.10."""
AIR_COOLER = Spread(560.0, 0.28)
WATER_BLOCK = Spread(330.0, 0.32)
FANS = Spread(13.0, 0.28)
FLOW = Spread(28.0, 0.35)
RADIATOR = Spread(22.0, 0.25)
STANDING_WATER_W_PER_K = Spread(12.0, 0.5)
STANDING_WATER_J_PER_K = Spread(320.0, 0.4)
STANDING_LOSS = Spread(1.1, 0.5)
"""Water that stands: block to water, what 40 to 120 ml store, what it loses by itself."""


FAN_HABITS = ((True, 0.32, 53.5, 2.5), (True, 0.23, 59.0, 1.6), (False, 0.45, 55.0, 3.0))
"""(rests while cool, share of cards, sets in at °C, its spread): rest ends at 50 to 60 °C."""


def _air(
    state: Cooling, weight: float, *, mount: Spread = GOOD_MOUNT, fans: Spread = FANS
) -> list[Hypothesis]:
    return [
        Hypothesis(
            state, weight * share, True, False, mount, AIR_COOLER, fans,
            stops=stops, sets_in_c=sets_in_c, sets_in_sd_k=spread_k,
        )
        for stops, share, sets_in_c, spread_k in FAN_HABITS
    ]  # fmt: skip


def _loop(
    state: Cooling,
    weight: float,
    *,
    mount: Spread = GOOD_MOUNT,
    block: Spread = WATER_BLOCK,
    flow: Spread = FLOW,
    radiator: Spread = RADIATOR,
) -> Hypothesis:
    return Hypothesis(state, weight, False, True, mount, block, flow, radiator)


STREAM_REACH_SD = (2.2, 2.2)
"""Sound and faulty spreads do not meet: a poor mount that is found to be sound is no poor mount."""
STREAM_MOUNT = Spread(0.0275, 0.25, STREAM_REACH_SD)
STREAM_POOR_MOUNT = Spread(0.10, 0.35, STREAM_REACH_SD)
"""Die to base: large dies of the 300 to 700 W class (0.023 to 0.032 fitted to nine whole ramps of
cards of one kind)."""
STREAM_BLOCK = Spread(640.0, 0.35, STREAM_REACH_SD)
"""Base and fins, one mass where a vapour chamber spreads the heat: 0.6 kg copper and 0.45 kg
aluminium store 635 J/K (590 to 830 fitted to the same ramps)."""
STREAM = Spread(37.0, 0.30, STREAM_REACH_SD)
"""Sound stream: 0.027 K/W (19 to 41 W/K fitted to the same ramps; chassis turn their fans as they
like)."""
WEAK_STREAM = Spread(5.5, 0.35, STREAM_REACH_SD)
NO_STREAM = Spread(1.6, 0.40, STREAM_REACH_SD)
"""Close fins without a stream: h of 3 to 6 W/m2K on some 0.3 m2 (estimate)."""
STREAM_LAG = Spread(0.33, 0.30, STREAM_REACH_SD)
"""The sensor's lag there (0.26 to 0.46 s fitted to the same ramps)."""


def _stream(
    state: Cooling, weight: float, *, mount: Spread = STREAM_MOUNT, stream: Spread = STREAM
) -> Hypothesis:
    """A card without fans in a stream of air: one block, and what the stream takes from it."""
    return Hypothesis(
        state, weight, False, False, mount, STREAM_BLOCK, stream,
        fan_turns=stream is not NO_STREAM, lag_s=STREAM_LAG, stream=True,
    )  # fmt: skip


def _in_stream() -> list[Hypothesis]:
    return [
        _stream(Cooling.HEALTHY_AIR, 0.83),
        _stream(Cooling.POOR_MOUNT, 0.06, mount=STREAM_POOR_MOUNT),
        _stream(Cooling.CLOGGED, 0.06, stream=WEAK_STREAM),
        _stream(Cooling.FAN_LOST, 0.05, stream=NO_STREAM),
    ]


STREAM_SHARE = 1.0
"""Weight of cards in a stream where nobody said how the card is cooled; fans and water have 1."""


def hypotheses(
    has_fan: bool | None, cooled_by: CooledBy | None = None
) -> tuple[Hypothesis, ...]:
    """Every hypothesis that fits what is known of the card; None: nobody said.

    `cooled_by` goes before `has_fan`. Weights sum to about 1 within air, water and stream.
    """
    if cooled_by is CooledBy.STREAM:
        return tuple(_in_stream())
    if cooled_by is not None:
        has_fan = cooled_by is CooledBy.FANS
    air = [
        *_air(Cooling.HEALTHY_AIR, 0.64),
        *_air(Cooling.POOR_MOUNT, 0.12, mount=POOR_MOUNT),
        *_air(Cooling.CLOGGED, 0.12, fans=Spread(2.9, 0.38)),
        Hypothesis(
            Cooling.FAN_LOST,
            0.12,
            True,
            False,
            GOOD_MOUNT,
            AIR_COOLER,
            Spread(0.05, 0.3),
            fan_turns=False,
        ),
    ]
    water = [
        _loop(Cooling.HEALTHY_LOOP, 0.57),
        _loop(Cooling.POOR_MOUNT, 0.1, mount=POOR_MOUNT),
        _loop(Cooling.CLOGGED, 0.06, block=Spread(500.0, 0.32), flow=Spread(4.3, 0.40)),
        _loop(Cooling.CLOGGED, 0.04, radiator=Spread(4.0, 0.36)),
        Hypothesis(
            Cooling.NO_COOLANT,
            0.18,
            False,
            False,
            GOOD_MOUNT,
            Spread(380.0, 0.38),
            Spread(0.9, 0.4),
            fan_turns=False,
        ),
        Hypothesis(
            Cooling.FLOW_LOST,
            0.05,
            False,
            True,
            GOOD_MOUNT,
            WATER_BLOCK,
            STANDING_WATER_W_PER_K,
            STANDING_LOSS,
            STANDING_WATER_J_PER_K,
            fan_turns=False,
        ),
    ]
    if has_fan is None:
        stream = [replace(h, weight=STREAM_SHARE * h.weight) for h in _in_stream()]
        return (*air, *water, *stream)
    return tuple(air if has_fan else water)
