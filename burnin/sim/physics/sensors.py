"""The card's sensors: they lag, they are noisy, they answer in steps, and some of them lie.

Values are taken anew every 0.1 s, as a real card's are: reading faster gives the same again.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

from burnin.sim.causes.kinds import SensorCause
from burnin.sim.scenario.model import Scenario

REFRESH_S = 0.1
_LAG_S = 1.0
_NOISE_K = 0.12
_NOISE_SHARE = 0.004
_POWER_STEP_W = 0.1


@dataclass(frozen=True)
class Truth:
    """What there is to sense: temperatures in °C, power in W, fan in rpm."""

    die_c: float
    hotspot_c: float
    memory_c: float
    power_w: float
    fan_rpm: float


class Sensors:
    """Readings of one card; each is None where its sensor cannot be read."""

    def __init__(self, scenario: Scenario, seed: int) -> None:
        self._chance = random.Random(f"{seed}/sensors")
        self._causes = [c for c in scenario.causes if isinstance(c, SensorCause)]
        self._lagged: dict[str, float] = {}
        self._values: dict[str, float | None] = {}
        self._stuck: dict[str, float] = {}
        self._slow: dict[str, float] = {}
        self._since_s = REFRESH_S
        self._energy_j = 0.0
        self.energy_j = 0.0

    def advance(self, seconds: float, truth: Truth, uptime_s: float) -> None:
        """Let `seconds` pass with the truth as it is at their end."""
        follow = 1.0 - math.exp(-seconds / _LAG_S)
        temps = {"die": truth.die_c, "hotspot": truth.hotspot_c, "memory": truth.memory_c}
        for name, value in temps.items():
            before = self._lagged.get(name, value)
            self._lagged[name] = before + (value - before) * follow
        self.energy_j += truth.power_w * seconds
        self._since_s += seconds
        if self._since_s >= REFRESH_S - 1e-9:
            self._refresh(truth, uptime_s)

    def _refresh(self, truth: Truth, uptime_s: float) -> None:
        spent = self.energy_j - self._energy_j
        power = spent / self._since_s if spent > 0.0 else truth.power_w
        self._energy_j, self._since_s = self.energy_j, 0.0
        gauss = self._chance.gauss
        fresh: dict[str, float] = {
            name: float(round(value + gauss(0.0, _NOISE_K))) for name, value in self._lagged.items()
        }
        measured = power * (1.0 + gauss(0.0, _NOISE_SHARE))
        fresh["power"] = round(measured / _POWER_STEP_W) * _POWER_STEP_W
        turn = truth.fan_rpm
        fresh["fan"] = float(round(turn * (1.0 + gauss(0.0, _NOISE_SHARE)) / 10.0) * 10)
        values: dict[str, float | None] = dict(fresh)
        for cause in self._causes:
            values[cause.sensor] = self._lie(cause, fresh[cause.sensor], uptime_s)
        self._values = values

    def _lie(self, cause: SensorCause, value: float, uptime_s: float) -> float | None:
        if uptime_s < cause.after_s:
            return value
        if cause.state == "unreadable":
            return None
        if cause.state == "biased":
            return value + (cause.bias or 0.0)
        if cause.state == "noisy":
            return float(round(value + self._chance.gauss(0.0, cause.noise or 0.0)))
        if cause.state == "slow":
            before = self._slow.get(cause.sensor, value)
            self._slow[cause.sensor] = before + (value - before) * (
                1.0 - math.exp(-REFRESH_S / (cause.lag_s or 1.0))
            )
            return float(round(self._slow[cause.sensor]))
        kept = value if cause.value is None else cause.value
        return self._stuck.setdefault(cause.sensor, kept)

    def read(self, name: str) -> float | None:
        """Latest value of ``die``, ``hotspot``, ``memory`` (°C), ``power`` (W), ``fan`` (rpm)."""
        return self._values[name]
