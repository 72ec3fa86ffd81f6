"""The clock of a simulated machine: letting time pass is what makes the machine move."""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta

from burnin.sim.physics.machine import Machine


class SimulatedClock:
    """Answers `burnin.core.clock.Clock`; `sleep_s` advances the machine by just that long.

    `pace` is how many simulated seconds pass in one real second, None: as many as possible.
    """

    def __init__(self, machine: Machine, pace: float | None = None) -> None:
        if pace is not None and pace <= 0.0:
            raise ValueError(f"pace {pace} of a simulated clock must be above 0")
        self._machine = machine
        self._pace = pace
        self._start = datetime.now(UTC)
        self._due = time.monotonic()

    def monotonic_s(self) -> float:
        """Seconds of the machine since its start."""
        return self._machine.time_s

    def utc(self) -> datetime:
        """The real start plus the machine's own time."""
        return self._start + timedelta(seconds=self._machine.time_s)

    def sleep_s(self, seconds: float) -> None:
        """Let `seconds` pass on the machine, and with a pace wait as long as that takes."""
        seconds = max(0.0, seconds)
        self._machine.advance(seconds)
        if self._pace is not None:
            now = time.monotonic()
            self._due = max(self._due, now - 0.5) + seconds / self._pace
            time.sleep(max(0.0, self._due - now))
