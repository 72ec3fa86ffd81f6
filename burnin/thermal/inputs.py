"""What a watch over a card's heat is told: before the first row, and in each row."""

from __future__ import annotations

from dataclasses import dataclass

from burnin.thermal.forecast import Limits, Plan
from burnin.thermal.states import CooledBy

IDLE_W = 60.0
"""A card below this is taken as idle."""
JUMP_SHARE, JUMP_W = 0.08, 10.0
"""A change of power beyond both is a step: it ends a step of the filter early, so that power is
constant in each."""
HELD_S = 300.0
"""A plan that names no end is taken to last so long from its start, its last step 120 s or more."""


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
