"""What a ramp that plans itself is to reach, and what it says of itself before it starts."""

from __future__ import annotations

from dataclasses import dataclass

from burnin.core.meaning import Note
from burnin.thermal.inputs import Limits, Row
from burnin.thermal.meanings import RampNote

PROOF_S = 60.0
"""A joule budget must last so long in the first step: a dry block shows late at low power."""
WORST_MOUNT_K_PER_W = 0.42
"""Die to block of the poorest mount that the first step must survive (estimate)."""
WORST_SPOT_K_PER_W = 0.35
"""Die to block and hot spot together where the paste under it is missing (estimate)."""
FIRST_MARGIN_K = 3.0


@dataclass(frozen=True)
class Aim:
    """What the ramp is to reach.

    `top_w`: the power to be proven. `gentle_w`: the first step. `budget_j`: energy above idle that
    a card may take in while it may have no coolant; None: the forecast alone decides. Each step is
    held `least_s` at least and `most_s` at most, the top one `soak_s`. `sure`: probability at which
    the state counts as known. `dry`: it is known that no loop is attached. `cool_most_s`: longest
    time, all in all, for which the card may rest before and between steps.
    """

    top_w: float
    gentle_w: float = 150.0
    budget_j: float | None = 5000.0
    idle_w: float = 20.0
    least_s: float = 20.0
    most_s: float = 60.0
    soak_s: float = 60.0
    sure: float = 0.9
    next_risk: float = 0.25
    dry: bool = False
    cool_most_s: float = 0.0

    def __post_init__(self) -> None:
        if not self.gentle_w > 0.0 or not self.top_w > 0.0:
            raise ValueError("a ramp needs a gentle and a top power above 0 W")
        if not 0.0 < self.least_s <= self.most_s:
            raise ValueError("a step's least time must not exceed its most")
        if self.budget_j is not None and self.budget_j <= 0.0:
            raise ValueError(f"a joule budget must be above 0, not {self.budget_j}")
        if self.dry and self.budget_j is None:
            raise ValueError("a block without a loop needs a joule budget")

    def longest_s(self, first_w: float | None = None) -> float:
        """How long the ramp may take at most from a first step of `first_w`, rests left out."""
        first_w = self.gentle_w if first_w is None else first_w
        if self.dry and self.budget_j is not None:
            return self.budget_j / max(1.0, min(first_w, self.unproven_w()) - self.idle_w)
        levels = self.levels(max(1.0, first_w))
        return self.most_s * (len(levels) - 1) + self.soak_s

    def levels(self, first_w: float) -> tuple[float, ...]:
        """Powers of the steps, from `first_w` to the top, none more than doubling the last."""
        if first_w >= self.top_w:
            return (self.top_w,)
        levels = [first_w]
        while levels[-1] * 2.0 < self.top_w:
            levels.append(levels[-1] * 1.8)
        return (*levels, self.top_w)

    def unproven_w(self) -> float:
        """First power of a card that may be dry: its joule budget lasts `PROOF_S` there."""
        if self.budget_j is None:
            return self.gentle_w
        return min(self.gentle_w, self.idle_w + self.budget_j / PROOF_S)

    def promise(self, dry: bool, first_w: float | None = None) -> tuple[Note, ...]:
        """Said before the start: how long it may take, what it can and cannot prove."""
        if dry and self.budget_j is not None:
            watts = self.unproven_w() if first_w is None else first_w
            what = RampNote.PROMISE_WITHIN_JOULES(
                budget_kj=self.budget_j / 1000.0,
                lasts_s=self.budget_j / max(1.0, watts - self.idle_w),
                power_w=watts,
            )
        else:
            longest_s = self.longest_s(first_w)
            what = RampNote.PROMISE_TO_THE_TOP(longest_s=longest_s, top_w=self.top_w)
        if self.cool_most_s > 0.0:
            return what, RampNote.PROMISE_RESTS(rests_s=self.cool_most_s)
        return (what,)


def safe_first_w(limits: Limits, row: Row) -> float:
    """Board power, W, that takes no such card at `row` to a limit; below 0: it is too warm."""
    safe_w = (limits.die_c - FIRST_MARGIN_K - row.die_c) / WORST_MOUNT_K_PER_W
    if limits.hotspot_c is None:
        return safe_w
    hot_c = row.die_c if row.hotspot_c is None else row.hotspot_c
    return min(safe_w, (limits.hotspot_c - FIRST_MARGIN_K - hot_c) / WORST_SPOT_K_PER_W)
