"""What the model of a card's heat is told: limits and plan before the first row, and each row."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property

from burnin.thermal.states import CooledBy

IDLE_W = 60.0
"""A card below this is taken as idle."""
JUMP_SHARE, JUMP_W = 0.08, 10.0
"""A change of power beyond both is a step: it ends a step of the filter early, so that power is
constant in each."""
HELD_S = 300.0
"""A plan that names no end is taken to last so long from its start, its last step 120 s or more."""
OFFSETS_S = (
    0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.5, 8.0, 10.0, 12.5, 15.0, 18.0, 21.0, 25.0, 30.0, 36.0,
    42.0, 50.0, 58.0, 67.0, 77.0, 88.0, 100.0, 114.0, 130.0, 148.0, 168.0, 190.0, 215.0, 245.0,
    280.0, 320.0, 370.0, 430.0, 500.0, 600.0, 720.0, 860.0, 1000.0,
)  # fmt: skip
"""Seconds from now at which a forecast looks: fine at first."""


@dataclass(frozen=True)
class Limits:
    """What must not be crossed, °C; None where there is no such limit."""

    die_c: float
    hotspot_c: float | None = None


@dataclass(frozen=True)
class Plan:
    """Planned board power: `steps` are (from second, watts); 0 W is held back after `end_s`."""

    steps: tuple[tuple[float, float], ...]
    end_s: float

    def __post_init__(self) -> None:
        starts = [s for s, _ in self.steps]
        if not self.steps or starts != sorted(starts) or any(w < 0.0 for _, w in self.steps):
            raise ValueError("a plan needs steps of (from second, watts) in order of time")

    def watts(self, time_s: float) -> float | None:
        """Planned power at `time_s`; None before the first step."""
        found = self.begun(time_s + 1e-9)
        return None if found is None else found[1]

    def begun(self, time_s: float) -> tuple[float, float] | None:
        """The step that stands at `time_s`: (from second, watts); None before the first."""
        count = bisect_right(self._starts, time_s)
        return self.steps[count - 1] if count else None

    @cached_property
    def _starts(self) -> list[float]:
        return [start for start, _ in self.steps]

    def segments(
        self, now_s: float, gain: float, present_w: float
    ) -> list[tuple[float, float]]:
        """(length in s, watts) pieces from now to the end of the plan, fine at first."""
        edges = {now_s + o for o in OFFSETS_S if now_s + o < self.end_s}
        edges |= {s for s, _ in self.steps if now_s < s < self.end_s}
        edges.add(max(self.end_s, now_s + 1.0))
        pieces, at, last = [], now_s, max(edges)
        for edge in sorted(edges):
            if edge - at < 0.2 and edge != last and self.watts(edge) == self.watts(at):
                continue
            planned = self.watts(at)
            pieces.append((edge - at, present_w if planned is None else planned * gain))
            at = edge
        return pieces


def plan_of(steps: tuple[tuple[float, float], ...], end_s: float | None = None) -> Plan:
    """A plan from its steps; one that names no end lasts as `HELD_S` says."""
    if end_s is None:
        end_s = max(steps[0][0] + HELD_S, steps[-1][0] + 120.0)
    return Plan(steps, end_s)


@dataclass(frozen=True)
class Setup:
    """What is known before the first row. `plan` None: the present power is held.

    `cooled_by` says more than `has_fan` and goes before it.
    """

    limits: Limits
    plan: Plan | None = None
    ambient_c: float | None = None
    has_fan: bool | None = None
    temp_step_c: float = 1.0
    cooled_by: CooledBy | None = None


@dataclass(frozen=True)
class Row:
    """One row of telemetry; None where it was not read. `energy_j` is a counter."""

    time_s: float
    power_w: float
    die_c: float
    hotspot_c: float | None = None
    fan_rpm: float | None = None
    energy_j: float | None = None
