"""The card as built: masses, resistances and electrical constants, varied a little by the seed.

Defaults are the engineering estimates of a graphics card of that power class: specific heats of
copper 385, aluminium 897, water 4186 J/kgK; an air cooler of 0.4 kg copper and 0.5 kg aluminium
holds 603 J/K, a water block of 0.7 kg copper and 0.1 kg aluminium 359 J/K, loop water of 0.8 kg
3,350 J/K. Resistances are estimates without source.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

from burnin.sim.causes.kinds import AirflowCause, CoolantCause, MountCause, PasteCause
from burnin.sim.scenario.model import Scenario
from burnin.sim.scenario.parts import CardBuild

_WATER_IN_BLOCK_J_PER_K = 250.0
"""60 ml of water that stays in a block whose flow has ended."""


@dataclass(frozen=True)
class Build:
    """Constants of one card. Heat capacities in J/K, resistances in K/W, powers in W.

    `full_air_w_per_k` is the cooler's conductance to the air at full fan speed or with the
    server's airflow, `still_air_w_per_k` without any; 0 for `coolant_j_per_k`: no loop.
    """

    room_c: float
    die_j_per_k: float
    cooler_j_per_k: float
    memory_j_per_k: float
    board_j_per_k: float
    coolant_j_per_k: float
    die_to_cooler_k_per_w: float
    memory_to_cooler_k_per_w: float
    memory_to_board_k_per_w: float
    board_to_cooler_k_per_w: float
    board_to_air_k_per_w: float
    full_air_w_per_k: float
    still_air_w_per_k: float
    cooler_to_coolant_k_per_w: float
    coolant_to_air_k_per_w: float
    hotspot_k_per_w: float
    idle_power_w: float
    max_power_w: float
    leakage_w: float

    @property
    def has_coolant(self) -> bool:
        """Whether coolant is in the block."""
        return self.coolant_j_per_k > 0.0


@dataclass(frozen=True)
class _Defaults:
    cooler_j_per_k: float
    die_to_cooler: float
    cooler_to_air: float
    still_air: float
    cooler_to_coolant: float = math.inf
    coolant_to_air: float = math.inf
    coolant_j_per_k: float = 0.0


def _defaults(card: CardBuild) -> _Defaults:
    """Defaults by cooling kind; resistances fall and masses grow with the power class."""
    small = 300.0 / card.max_power_w
    if card.cooling == "air":
        return _Defaults(
            cooler_j_per_k=603.0 * (1.0 / small) ** 0.7,
            die_to_cooler=0.060 * math.sqrt(small),
            cooler_to_air=0.055 * small,
            still_air=1.0 * small,
        )
    if card.cooling == "passive":
        return _Defaults(
            cooler_j_per_k=140.0 / small,
            die_to_cooler=0.060 * small,
            cooler_to_air=0.072 * small,
            still_air=1.6 * small,
        )
    with_loop = card.cooling == "water_loop"
    return _Defaults(
        cooler_j_per_k=359.0,
        die_to_cooler=0.045,
        cooler_to_air=math.inf,
        still_air=1.7,
        cooler_to_coolant=0.020,
        coolant_to_air=0.024,
        coolant_j_per_k=3350.0 if with_loop else 0.0,
    )


def build_card(scenario: Scenario, seed: int) -> Build:
    """The card of a scenario; `seed` varies room (±1.5 K), masses and resistances (±5 %)."""
    card, own = scenario.card, scenario.card.thermal
    chance = random.Random(f"{seed}/build")
    base = _defaults(card)
    watts = card.max_power_w

    def vary(value: float, share: float = 0.05) -> float:
        return value * chance.uniform(1.0 - share, 1.0 + share)

    room_c = scenario.bench.room_c + chance.uniform(-1.5, 1.5)
    clog = mount = paste = 1.0
    coolant = own.coolant_j_per_k or base.coolant_j_per_k
    for cause in scenario.causes:
        if isinstance(cause, AirflowCause):
            clog *= cause.resistance_factor
        elif isinstance(cause, MountCause):
            mount *= cause.resistance_factor
        elif isinstance(cause, PasteCause):
            paste *= cause.hotspot_factor
        elif isinstance(cause, CoolantCause) and cause.state == "absent":
            coolant = 0.0
    full_air = 1.0 / (vary(own.cooler_to_air_k_per_w or base.cooler_to_air) * clog)
    return Build(
        room_c=room_c,
        die_j_per_k=vary(own.die_j_per_k or 8.0 + 10.0 * watts / 300.0),
        cooler_j_per_k=vary(own.cooler_j_per_k or base.cooler_j_per_k)
        + (_WATER_IN_BLOCK_J_PER_K if coolant else 0.0),
        memory_j_per_k=vary(own.memory_j_per_k or 20.0 + 40.0 * watts / 300.0),
        board_j_per_k=vary(own.board_j_per_k or 120.0 + 60.0 * watts / 300.0),
        coolant_j_per_k=vary(coolant),
        die_to_cooler_k_per_w=vary(own.die_to_cooler_k_per_w or base.die_to_cooler) * mount,
        memory_to_cooler_k_per_w=vary(own.memory_to_cooler_k_per_w or 0.35 * 300.0 / watts),
        memory_to_board_k_per_w=vary(2.0),
        board_to_cooler_k_per_w=vary(1.5),
        board_to_air_k_per_w=vary(0.9 if card.cooling == "passive" else 1.5),
        full_air_w_per_k=full_air,
        still_air_w_per_k=1.0 / vary(own.still_air_k_per_w or base.still_air),
        cooler_to_coolant_k_per_w=vary(own.cooler_to_coolant_k_per_w or base.cooler_to_coolant),
        coolant_to_air_k_per_w=vary(own.coolant_to_air_k_per_w or base.coolant_to_air) * clog,
        hotspot_k_per_w=vary(own.hotspot_k_per_w or 11.0 / (0.8 * watts)) * paste,
        idle_power_w=vary(card.idle_power_w),
        max_power_w=watts,
        leakage_w=vary(0.02 * watts, 0.2),
    )
