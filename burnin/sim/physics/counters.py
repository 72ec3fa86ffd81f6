"""Counters as their files tell them: some begin again at 0, some have few bits."""

from __future__ import annotations

from collections.abc import Mapping

from burnin.sim.causes.sensors import CounterCause
from burnin.sim.physics.link import Link
from burnin.sim.physics.sensors import Sensors
from burnin.sim.scenario.model import Scenario


class Counters:
    """What the counters of one machine tell, whatever they have counted."""

    def __init__(self, scenario: Scenario, sensors: Sensors, link: Link) -> None:
        self._sensors, self._link = sensors, link
        causes = [c for c in scenario.causes if isinstance(c, CounterCause)]
        self._restarts = [c for c in causes if c.state == "restarts"]
        self._bits: dict[str, int] = {c.counter: c.bits for c in causes if c.bits is not None}
        self._energy_from_j = 0.0
        self._errors_from: dict[str, dict[str, int]] = {}

    def advance(self, uptime_s: float, load_s: float) -> None:
        """Begin again with those whose time has come."""
        for cause in [c for c in self._restarts if c.come(uptime_s, load_s)]:
            self._restarts.remove(cause)
            if cause.counter == "energy":
                self._energy_from_j = self._sensors.energy_j
            else:
                self._errors_from = {
                    end: dict(errors.correctable) for end, errors in self._link.ends.items()
                }

    def energy_uj(self, told_j: float) -> float:
        """The energy counter in microjoules, of what its sensor tells."""
        return self._cut("energy", (told_j - self._energy_from_j) * 1e6)

    def correctable(self, end: str) -> Mapping[str, int]:
        """The correctable errors of one end of the link, by name."""
        begun = self._errors_from.get(end, {})
        return {
            name: int(self._cut("link_errors", count - begun.get(name, 0)))
            for name, count in self._link.ends[end].correctable.items()
        }

    def _cut(self, counter: str, count: float) -> float:
        bits = self._bits.get(counter)
        return count if bits is None else count % (1 << bits)
