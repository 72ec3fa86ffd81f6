"""A ramp that plans itself: what to do next, from what is known of the cooling so far.

Pure decisions: the caller holds the power and hands in rows; nothing here touches hardware.

A gentle first step is held until the cooling is known; each next step is taken only if its forecast
is safe; where the next is not safe and the state is still open, the present step is held on while
it is safe itself. A card that may have no coolant never takes in more than its joule budget.

Use: one `ForecastGuard` for the run, `Ramp(aim, guard.watch)` beside it; every row goes to the
guard first, then to `decide`. Give the guard limits some kelvin below the true ones: the ramp
needs room.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from burnin.guard.cooling.forecast import Forecast, Plan
from burnin.guard.cooling.states import HEALTHY, Cooling
from burnin.guard.cooling.watch import CoolingWatch, Row

WORST_MOUNT_K_PER_W = 0.42
"""Die to block of the poorest mount that the first step must survive (estimate)."""
WORST_SPOT_K_PER_W = 0.35
"""Die to block and hot spot together where the paste under it is missing (estimate)."""
FIRST_MARGIN_K = 3.0
DECIDE_EVERY_S = 1.0
PROOF_S = 60.0
"""A joule budget must last so long in the first step: a dry block shows late at low power."""
DRY_CHANCE = 0.05
"""Below this probability of a block without flow the joule budget no longer binds."""


class Do(StrEnum):
    """What to do until the next decision."""

    HOLD = "hold"
    STEP = "step"
    STOP = "stop"
    DONE = "done"


@dataclass(frozen=True)
class Next:
    """A decision: hold or step to `watts`, stop, or done; `why` in words."""

    do: Do
    watts: float
    why: str


@dataclass(frozen=True)
class Aim:
    """What the ramp is to reach.

    `top_w`: the power to be proven. `gentle_w`: the first step. `budget_j`: energy above idle that
    a card may take in while it may have no coolant. Each step is held `least_s` at least and
    `most_s` at most, the top one `soak_s`. `sure`: probability at which the state counts as known.
    """

    top_w: float
    gentle_w: float = 150.0
    budget_j: float = 5000.0
    idle_w: float = 20.0
    least_s: float = 20.0
    most_s: float = 60.0
    soak_s: float = 60.0
    sure: float = 0.9
    next_risk: float = 0.25

    def __post_init__(self) -> None:
        if not self.gentle_w > 0.0 or not self.top_w > 0.0:
            raise ValueError("a ramp needs a gentle and a top power above 0 W")
        if not 0.0 < self.least_s <= self.most_s:
            raise ValueError("a step's least time must not exceed its most")
        if self.budget_j <= 0.0:
            raise ValueError(f"a joule budget must be above 0, not {self.budget_j}")

    def longest_s(self) -> float:
        """How long the ramp may take at most, cool-down left out."""
        return self.most_s * len(self.levels(self.gentle_w)[:-1]) + self.soak_s

    def levels(self, first_w: float) -> tuple[float, ...]:
        """Powers of the steps, from `first_w` to the top, none more than doubling the last."""
        if first_w >= self.top_w:
            return (self.top_w,)
        levels = [first_w]
        while levels[-1] * 2.0 < self.top_w:
            levels.append(levels[-1] * 1.8)
        return (*levels, self.top_w)

    def unproven_w(self) -> float:
        """The gentle power of a card without fans: its joule budget lasts `PROOF_S` there."""
        return min(self.gentle_w, self.idle_w + self.budget_j / PROOF_S)

    def promise(self, dry: bool) -> str:
        """Said before the start: how long it may take, what it can and cannot prove."""
        if dry:
            watts = self.unproven_w()
            return (
                f"at most {self.budget_j / 1000.0:.1f} kJ above idle, "
                f"{self.budget_j / max(1.0, watts - self.idle_w):.0f} s at {watts:.0f} W: "
                "mount and die-to-block resistance judged; long soak owed"
            )
        return (
            f"at most {self.longest_s():.0f} s up to {self.top_w:.0f} W: every resistance judged, "
            "rise at rated power measured"
        )


class Ramp:
    """Decides row by row; one a run. The guards stand beside it and may stop at any row."""

    def __init__(self, aim: Aim, watch: CoolingWatch) -> None:
        self._aim, self._watch = aim, watch
        self._levels: tuple[float, ...] = ()
        self._at = -1
        self._since_s = self._asked_s = 0.0
        self._energy_j = 0.0
        self._last_s: float | None = None

    @property
    def watts(self) -> float:
        """The present step's power."""
        return self._levels[self._at] if self._at >= 0 else self._aim.idle_w

    @property
    def energy_j(self) -> float:
        """Energy above idle so far."""
        return self._energy_j

    def first_w(self, row: Row) -> float:
        """The first step's power: even the poorest mount must not take it to a limit."""
        limits = self._watch.setup.limits
        safe = (limits.die_c - FIRST_MARGIN_K - row.die_c) / WORST_MOUNT_K_PER_W
        if limits.hotspot_c is not None:
            hot_c = row.die_c if row.hotspot_c is None else row.hotspot_c
            safe = min(safe, (limits.hotspot_c - FIRST_MARGIN_K - hot_c) / WORST_SPOT_K_PER_W)
        aim = self._aim
        gentle_w = aim.gentle_w if self._watch.has_fan is True else aim.unproven_w()
        return max(0.0, min(gentle_w, aim.top_w, safe))

    def begin(self, row: Row) -> Next:
        """The first step, chosen by the first row at idle."""
        first = self.first_w(row)
        if first < 1.5 * self._aim.idle_w:
            return Next(Do.STOP, 0.0, f"already at {row.die_c:.0f} °C: let the card cool first")
        self._levels = self._aim.levels(first)
        self._at, self._since_s, self._asked_s, self._last_s = 0, row.time_s, row.time_s, row.time_s
        self._watch.plan = self._intention(row.time_s)
        return Next(Do.STEP, self.watts, "a gentle first step")

    def _intention(self, now_s: float) -> Plan:
        held_s = self._aim.soak_s if self._at == len(self._levels) - 1 else self._aim.most_s
        return Plan(((self._since_s, self.watts),), max(self._since_s + held_s, now_s + 1.0))

    def decide(self, row: Row) -> Next:
        """What to do after this row, which the watch has seen."""
        if self._last_s is None:
            raise ValueError("the ramp has not begun")
        dt = row.time_s - self._last_s
        self._energy_j += max(0.0, row.power_w - self._aim.idle_w) * dt
        self._last_s = row.time_s
        budget = self._over_budget()
        if budget is not None:
            return budget
        if row.time_s - self._asked_s < DECIDE_EVERY_S - 1e-6:
            return Next(Do.HOLD, self.watts, "")
        self._asked_s = row.time_s
        held_s = row.time_s - self._since_s
        if self._at == len(self._levels) - 1:
            return self._at_top(held_s)
        if held_s < self._aim.least_s:
            return Next(Do.HOLD, self.watts, "too soon to tell")
        return self._further(row, held_s)

    def _chances(self) -> tuple[Cooling, float, float]:
        chances = self._watch.probabilities()
        state = max(chances, key=lambda s: chances[s])
        dry = chances[Cooling.NO_COOLANT] + chances[Cooling.FLOW_LOST]
        return state, chances[state], dry

    def _over_budget(self) -> Next | None:
        if self._watch.has_fan is True:
            return None
        spent_soon = self._energy_j + self.watts * 0.5
        if spent_soon < self._aim.budget_j or self._chances()[2] < DRY_CHANCE:
            return None
        return Next(
            Do.STOP, 0.0, f"{self._energy_j / 1000.0:.1f} kJ spent and no proof of coolant"
        )

    def _at_top(self, held_s: float) -> Next:
        if held_s >= self._aim.soak_s:
            return Next(Do.DONE, 0.0, "top power held")
        return Next(Do.HOLD, self.watts, "top power")

    def _further(self, row: Row, held_s: float) -> Next:
        state, probability, _ = self._chances()
        known = probability >= self._aim.sure
        safe = self._is_safe(row.time_s, self._levels[self._at + 1])
        patient = held_s < self._aim.most_s
        if safe and (known or not patient):
            self._at += 1
            self._since_s = row.time_s
            self._watch.plan = self._intention(row.time_s)
            return Next(Do.STEP, self.watts, f"the next step is safe: cooling is {state}")
        if patient and not (known and not safe and held_s > self._aim.least_s * 1.5):
            return Next(Do.HOLD, self.watts, f"learning: {state} at {100 * probability:.0f} %")
        return Next(
            Do.STOP, 0.0, f"{self._levels[self._at + 1]:.0f} W would cross a limit: {state}"
        )

    def _is_safe(self, now_s: float, watts: float) -> bool:
        held_s = self._aim.soak_s if self._at + 1 == len(self._levels) - 1 else self._aim.most_s
        forecast: Forecast = self._watch.what_if(Plan(((now_s, watts),), now_s + held_s))
        chances = self._watch.probabilities()
        sound = sum(chances[s] for s in HEALTHY) > 0.5
        risk = self._aim.next_risk if sound else 0.0
        return forecast.within(10.0) <= 0.0 and forecast.any_probability <= risk
