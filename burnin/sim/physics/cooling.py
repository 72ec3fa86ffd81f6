"""What carries the heat away: the card's fans with their curve, or coolant and its flow."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from burnin.sim.causes.kinds import CoolantCause, FanCause
from burnin.sim.physics.thermal import ThermalNetwork
from burnin.sim.scenario.build import Build
from burnin.sim.scenario.model import Scenario

FULL_RPM = 3000.0
_START_C, _REST_C = 50.0, 42.0
_CURVE = ((30.0, 0.30), (50.0, 0.30), (65.0, 0.55), (80.0, 0.85), (88.0, 1.0))
"""Duty by die temperature (°C); below `_REST_C` the fans rest until `_START_C` is reached."""
_INERTIA_S = 1.6
_AIR_EXPONENT = 0.75
"""Conductance grows with rpm to this power (0.5 to 0.8 are seen; no source)."""


def fan_duty(die_c: float) -> float:
    """Duty (0 to 1) that the fan curve asks for at a die temperature, zero-rpm mode aside."""
    if die_c <= _CURVE[0][0]:
        return _CURVE[0][1]
    for (t0, d0), (t1, d1) in pairwise(_CURVE):
        if die_c <= t1:
            return d0 + (d1 - d0) * (die_c - t0) / (t1 - t0)
    return 1.0


@dataclass
class Fans:
    """A fan of an air cooler: what it is driven to and how fast it turns."""

    duty: float = 0.0
    rpm: float = 0.0

    def advance(self, seconds: float, die_c: float, held: bool, speed_factor: float) -> None:
        """Follow the curve with inertia; a `held` fan is driven but slows down to rest."""
        if (self.duty == 0.0 and die_c >= _START_C) or (self.duty > 0.0 and die_c > _REST_C):
            self.duty = fan_duty(die_c)
        else:
            self.duty = 0.0
        goal = 0.0 if held else FULL_RPM * self.duty * speed_factor
        follow = 1.0 - math.exp(-seconds / (0.5 if held else _INERTIA_S))
        self.rpm += (goal - self.rpm) * follow
        if self.rpm < 30.0 and goal == 0.0:
            self.rpm = 0.0


class Cooling:
    """Joins the cooler of a build to the air, and changes that as fans and flow change."""

    def __init__(self, scenario: Scenario, build: Build) -> None:
        self._build = build
        self._kind = scenario.card.cooling
        count = scenario.card.fans if self._kind == "air" else 0
        self.each_fan = tuple(Fans() for _ in range(count))
        self.fans = self.each_fan[0] if self.each_fan else None
        self._fan_causes = [c for c in scenario.causes if isinstance(c, FanCause)]
        self._flow_causes = [
            c for c in scenario.causes if isinstance(c, CoolantCause) and c.state == "flow_stops"
        ]
        self._flows = True

    def network(self) -> ThermalNetwork:
        """The thermal network of the card, at room temperature."""
        b = self._build
        capacity = {
            "die": b.die_j_per_k,
            "memory": b.memory_j_per_k,
            "cooler": b.cooler_j_per_k,
            "board": b.board_j_per_k,
        }
        if b.has_coolant:
            capacity["coolant"] = b.coolant_j_per_k
        network = ThermalNetwork(capacity, b.room_c)
        network.join("die", "cooler", 1.0 / b.die_to_cooler_k_per_w)
        network.join("memory", "cooler", 1.0 / b.memory_to_cooler_k_per_w)
        network.join("memory", "board", 1.0 / b.memory_to_board_k_per_w)
        network.join("board", "cooler", 1.0 / b.board_to_cooler_k_per_w)
        network.join("board", network.AIR, 1.0 / b.board_to_air_k_per_w)
        if b.has_coolant:
            network.join("cooler", "coolant", 1.0 / b.cooler_to_coolant_k_per_w)
            network.join("coolant", network.AIR, 1.0 / b.coolant_to_air_k_per_w)
        network.join("cooler", network.AIR, self._to_air())
        return network

    def _to_air(self) -> float:
        b = self._build
        if self.fans is not None:
            turning = sum(fan.rpm for fan in self.each_fan) / len(self.each_fan)
            moved = math.pow(turning / FULL_RPM, _AIR_EXPONENT)
            return b.still_air_w_per_k + b.full_air_w_per_k * moved
        if self._kind == "passive":
            return b.still_air_w_per_k + b.full_air_w_per_k
        return b.still_air_w_per_k

    def advance(
        self, seconds: float, network: ThermalNetwork, uptime_s: float, load_s: float
    ) -> None:
        """Let fans and flow follow; `load_s` are the seconds under load so far."""
        if self.fans is not None:
            for number, fan in enumerate(self.each_fan, start=1):
                factor, held = 1.0, False
                for fault in self._fan_causes:
                    if fault.fan not in (None, number):
                        continue
                    if fault.state == "worn":
                        factor *= fault.speed_factor or 1.0
                    else:
                        held = held or _come(
                            fault.stalls_at_s, fault.after_load_s, uptime_s, load_s
                        )
                fan.advance(seconds, network.at("die"), held, factor)
            network.set_to_air("cooler", self._to_air())
        for stop in self._flow_causes:
            if (
                self._flows
                and self._build.has_coolant
                and _come(stop.flow_stops_at_s, stop.after_load_s, uptime_s, load_s)
            ):
                self._flows = False
                network.join("cooler", "coolant", 0.05)


def _come(
    at_s: float | None, after_load_s: float | None, uptime_s: float, load_s: float
) -> bool:
    """Whether a cause has come; one without any time was there from the start."""
    if at_s is not None:
        return uptime_s >= at_s
    if after_load_s is not None:
        return load_s >= after_load_s
    return True
