"""Where the current of a power plug enters the card: voltage lost there, and the heat of it.

A joint turns I²R to heat (Joule) and follows it like any body with one resistance to the board and
one capacity. A sound one has 0.3 mΩ; what its copper hands on to the board is 40 K/W; the contacts
of a plug lie side by side, 20 mΩ each, and their rise is of that kind too. A supply unit with its
cable gives 12.1 V and loses 12 mV an ampere. All are estimates without source. What a joint turns
to heat is far below a watt and warms nothing else.
"""

from __future__ import annotations

import math

from burnin.connector.other_connectors import connectors
from burnin.sim.causes.contacts import SupplyJointCause
from burnin.sim.physics.supply import SOUND_OHMS, Supply
from burnin.sim.scenario.model import Scenario

_SOUND_JOINT_OHMS = 0.0003
_OPEN_V, _CABLE_OHMS = 12.1, 0.012
_JOINT_K_PER_W, _PLUG_K_PER_W = 40.0, 12.0
_FOLLOWS_S = 15.0


class Joint:
    """One plug with the joint behind it, numbered from 1."""

    def __init__(self, plug_ohms: float, joint_ohms: float) -> None:
        self._ohms = {"plug": plug_ohms, "joint": joint_ohms}
        self._rise_k = {"plug": 0.0, "joint": 0.0}
        self.current_a = 0.0

    def advance(self, seconds: float, current_a: float) -> None:
        """Let both warm at a current."""
        self.current_a = current_a
        follow = 1.0 - math.exp(-seconds / _FOLLOWS_S)
        for place, k_per_w in (("plug", _PLUG_K_PER_W), ("joint", _JOINT_K_PER_W)):
            goal_k = k_per_w * current_a**2 * self._ohms[place]
            self._rise_k[place] += (goal_k - self._rise_k[place]) * follow

    def drop_v(self, place: str) -> float:
        """Voltage from one side of ``joint`` or ``plug`` to the other."""
        return self.current_a * self._ohms[place]

    def supply_v(self) -> float:
        """12 V as the plug's cable brings them."""
        return _OPEN_V - _CABLE_OHMS * self.current_a

    def rise_k(self, place: str) -> float:
        """How much warmer than the board it is."""
        return self._rise_k[place]


class Joints:
    """All power plugs of a card."""

    def __init__(self, scenario: Scenario, supply: Supply) -> None:
        self._supply = supply
        extra = [c for c in scenario.causes if isinstance(c, SupplyJointCause)]
        self.all = [
            Joint(
                SOUND_OHMS / sum(c.group == "power_12v" for c in connectors()[key].contacts),
                _SOUND_JOINT_OHMS + sum(c.ohms for c in extra if c.plug == number),
            )
            for number, key in enumerate(scenario.card.power_plugs)
        ]

    def advance(self, seconds: float, power_w: float) -> None:
        """Let each carry its share of the card's power."""
        for joint, current_a in zip(
            self.all, self._supply.plug_currents_a(power_w), strict=True
        ):
            joint.advance(seconds, current_a)
