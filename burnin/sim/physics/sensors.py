"""The card's sensors: they lag, they are noisy, they answer in steps, and some of them lie.

Values are taken anew every 0.1 s, as a real card's are: reading faster gives the same again. A
fault that lasts for so many reads counts those of its sensor's file.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import dataclass

from burnin.sim.causes.sensors import FANS, SensorCause
from burnin.sim.scenario.model import Scenario

REFRESH_S = 0.1
_LAG_S = 1.0
_NOISE_K = 0.12
_NOISE_SHARE = 0.004
_POWER_STEP_W = 0.1


@dataclass(frozen=True)
class Truth:
    """What there is to sense: temperatures in °C, power in W, each fan's speed in rpm."""

    die_c: float
    hotspot_c: float
    memory_c: float
    power_w: float
    fans_rpm: tuple[float, ...]


class _Fault:
    """A sensor's fault while it is there."""

    def __init__(self, cause: SensorCause) -> None:
        self.cause = cause
        self._left = cause.for_reads
        self._stuck: float | None = None
        self._slow: float | None = None
        self.there = False

    def look(self, uptime_s: float, load_s: float) -> None:
        """See whether it has come, or gone."""
        self.there = self._left != 0 and self.cause.there(uptime_s, load_s)

    def was_read(self) -> None:
        """Its file was read once more."""
        if self._left is not None and self.there:
            self._left -= 1
            self.there = self._left > 0

    def lie(self, value: float, gauss: Callable[[float, float], float]) -> float | None:
        """What the sensor takes for the value; None: it cannot be read."""
        cause = self.cause
        if cause.state == "unreadable":
            return None
        if cause.state == "biased":
            return value + (cause.bias or 0.0)
        if cause.state == "noisy":
            return float(round(value + gauss(0.0, cause.noise or 0.0)))
        if cause.state == "slow":
            before = value if self._slow is None else self._slow
            self._slow = before + (value - before) * (
                1.0 - math.exp(-REFRESH_S / (cause.lag_s or 1.0))
            )
            return float(round(self._slow))
        if cause.state == "stuck":
            if self._stuck is None:
                self._stuck = value if cause.value is None else cause.value
            return self._stuck
        return value


class Sensors:
    """Readings of one card; each is None where its sensor cannot be read."""

    def __init__(self, scenario: Scenario, seed: int) -> None:
        self._chance = random.Random(f"{seed}/sensors")
        self._faults = [_Fault(c) for c in scenario.causes if isinstance(c, SensorCause)]
        self._lagged: dict[str, float] = {}
        self._honest: dict[str, float] = {}
        self._values: dict[str, float | None] = {}
        self._since_s = REFRESH_S
        self._energy_j = 0.0
        self.energy_j = 0.0

    def advance(self, seconds: float, truth: Truth, uptime_s: float, load_s: float = 0.0) -> None:
        """Let `seconds` pass with the truth as it is at their end."""
        follow = 1.0 - math.exp(-seconds / _LAG_S)
        temps = {"die": truth.die_c, "hotspot": truth.hotspot_c, "memory": truth.memory_c}
        for name, value in temps.items():
            before = self._lagged.get(name, value)
            self._lagged[name] = before + (value - before) * follow
        self.energy_j += truth.power_w * seconds
        for fault in self._faults:
            fault.look(uptime_s, load_s)
            if fault.there and fault.cause.sensor == "energy":
                fault.lie(self.energy_j, self._chance.gauss)  # it stands from now on
        self._since_s += seconds
        if self._since_s >= REFRESH_S - 1e-9:
            self._refresh(truth)

    def _refresh(self, truth: Truth) -> None:
        spent = self.energy_j - self._energy_j
        power = spent / self._since_s if spent > 0.0 else truth.power_w
        self._energy_j, self._since_s = self.energy_j, 0.0
        gauss = self._chance.gauss
        fresh: dict[str, float] = {
            name: float(round(value + gauss(0.0, _NOISE_K))) for name, value in self._lagged.items()
        }
        measured = power * (1.0 + gauss(0.0, _NOISE_SHARE))
        fresh["power"] = round(measured / _POWER_STEP_W) * _POWER_STEP_W
        for name, turn in zip(FANS, truth.fans_rpm or (0.0,), strict=False):
            fresh[name] = float(round(turn * (1.0 + gauss(0.0, _NOISE_SHARE)) / 10.0) * 10)
        values: dict[str, float | None] = dict(fresh)
        for fault in self._faults:
            name = fault.cause.sensor
            if fault.there and name != "energy":
                values[name] = fault.lie(fresh[name], gauss)
        self._honest, self._values = fresh, values

    def hangs_s(self, name: str) -> float:
        """For how long a read of this sensor's file waits for its answer."""
        return sum(
            fault.cause.hangs_s or 0.0
            for fault in self._faults
            if fault.there and fault.cause.sensor == name
        )

    def read(self, name: str) -> float | None:
        """Latest value of ``die``, ``hotspot``, ``memory`` (°C), ``power`` (W), ``energy`` (J, at
        this moment), ``fan`` to ``fan4`` (rpm); counted as a read of its file."""
        faults = [fault for fault in self._faults if fault.cause.sensor == name]
        lies = [fault for fault in faults if fault.there]
        if name == "energy":
            value: float | None = self.energy_j
            for fault in lies:
                value = fault.lie(self.energy_j, self._chance.gauss)
        else:
            value = self._values[name] if lies or not faults else self._honest[name]
            for fault in lies:
                if fault.cause.for_reads is not None:  # it lies at the read, whenever that comes
                    value = fault.lie(self._honest[name], self._chance.gauss)
        for fault in lies:
            fault.was_read()
        return value
