"""What a ramp does while a warning stands: it waits, rests, steps down, or ends by plan.

Pure decisions. It never climbs; where the forecast says that the power held now is safe to the end
of its step, it is held on. A wait lets time tell whether the warning is right; it ends where the
limit is near.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from burnin.core.sample import Sample
from burnin.guard.forecast_guard import ForecastGuard
from burnin.guard.sampler import Watch
from burnin.guard.warning import GIVEN_FROM, StandingWarning
from burnin.stages.thermal_ramp.on_warning import OnWarning
from burnin.thermal.forecast import Forecast
from burnin.thermal.inputs import Plan

SAFE_BELOW = 0.05
"""Probability of a crossing below which a power is taken as safe: half of what a guard stops a card
at fault by, so that what is chosen here is not stopped there (`burnin.guard.stop_decision`)."""
NEAR_S = 15.0
"""Three times what a guard's stop looks ahead: what is done then still comes before it."""
NEAR_FROM = 0.3
LOOKS_EVERY_S = 1.0
SETTLES_S = 8.0
"""A power that has just been lowered is given so long before more is done; a step of power shows
in forecast and warning by then."""
LEAST_REST_S = 5.0
LOWERED_BY = 0.1


class Act(StrEnum):
    """What to do after a sample."""

    GO = "go"
    HOLD = "hold"
    REST = "rest"
    LOWER = "lower"
    END = "end"


@dataclass(frozen=True)
class Choice:
    """An act; `share` of the power held is what remains of it where it is lowered."""

    act: Act
    share: float = 1.0


class HoldBack:
    """Decides sample by sample for one ramp; `waited_s` and `rested_s` are what it has used up."""

    def __init__(
        self, may: OnWarning, guard: ForecastGuard, idle_w: float, draws_within: float = 1.0
    ) -> None:
        """`draws_within`: by what factor a power that is chosen may turn out higher."""
        self._may, self._guard, self._idle_w = may, guard, idle_w
        self._within = draws_within
        self._cooling = guard.watch
        self._warned_w = idle_w
        self.waited_s = self.rested_s = 0.0
        self.lowered = False
        self.because: StandingWarning | None = None
        self._last_s: float | None = None
        self._look_s = 0.0

    @property
    def rest_left_s(self) -> float:
        """How long it may still rest."""
        return max(0.0, self._may.rest_at_most_s - self.rested_s)

    @property
    def wait_left_s(self) -> float:
        """How long it may still wait."""
        return max(0.0, self._may.wait_at_most_s - self.waited_s)

    @property
    def may_wait(self) -> bool:
        """Whether it may hold on for longer than a step was to last."""
        return self.wait_left_s > 0.0

    def see_held(self, watch: Watch, sample: Sample, left_s: float, whole_s: float) -> Choice:
        """`see` with the warning and the power that the guards have after this sample."""
        held_w = self._cooling.power.level_w
        return self.see(sample.elapsed_s, watch.warning, held_w, left_s, whole_s)

    def see(
        self,
        now_s: float,
        warning: StandingWarning | None,
        held_w: float,
        left_s: float,
        whole_s: float,
    ) -> Choice:
        """What to do while `held_w` is held, for `left_s` more of a step of `whole_s`."""
        passed_s = 0.0 if self._last_s is None else now_s - self._last_s
        self._last_s = now_s
        if warning is None:
            self._last_s = None
            return Choice(Act.END if self._was_too_much(now_s, held_w) else Act.GO)
        self.because = warning
        if left_s <= 0.0:
            self.waited_s += passed_s
        if now_s < self._look_s:
            return Choice(Act.HOLD)
        self._look_s = now_s + LOOKS_EVERY_S
        return self._decided(now_s, held_w, left_s, whole_s)

    def _was_too_much(self, now_s: float, held_w: float) -> bool:
        """Whether a power that was lowered on a warning nears the limit all the same."""
        if not self.lowered or now_s < self._look_s:
            return False
        self._look_s = now_s + LOOKS_EVERY_S
        return self._held(now_s, held_w, NEAR_S).any_probability >= SAFE_BELOW

    def _decided(self, now_s: float, held_w: float, left_s: float, whole_s: float) -> Choice:
        here = self._held(now_s, held_w, max(left_s, NEAR_S))
        near = here.within(NEAR_S) >= NEAR_FROM
        if here.any_probability < SAFE_BELOW:
            over = left_s <= 0.0 and not self.may_wait
            return Choice(Act.END if over else Act.HOLD)
        likely = here.any_probability >= GIVEN_FROM
        if not near and (self.may_wait or (left_s > 0.0 and not likely)):
            if left_s > 0.0:
                self.waited_s += LOOKS_EVERY_S
            return Choice(Act.HOLD)
        rest_s = 0.0 if self.lowered else self.rest_left_s
        if rest_s >= LEAST_REST_S and self.safe_again(now_s, held_w, whole_s, rest_s):
            self._warned_w = held_w
            return Choice(Act.REST)
        for share in self._shares():
            lower_w = self._idle_w + share * (held_w - self._idle_w)
            lowered = self._held(now_s, self._within * lower_w, max(left_s, NEAR_S))
            if lowered.any_probability < SAFE_BELOW:
                self.lowered, self._look_s = True, now_s + SETTLES_S
                return Choice(Act.LOWER, share)
        return Choice(Act.END)

    def before_next(
        self, watch: Watch, step_w: float, next_w: float, next_s: float, *, patient: bool = True
    ) -> Choice:
        """Whether the next step may begin, `step_w` being held; REST: then it may.

        HOLD: the present one a while yet, which is not chosen where nobody is `patient`.

        A warning that the next step would bring counts as one that stands. What is lowered is held
        only where it is more than the present power.
        """
        now_s = watch.elapsed_s()
        foreseen = self._guard.foreseen(Plan(((now_s, next_w),), now_s + next_s))
        because = watch.warning or foreseen
        if because is None or next_w <= step_w:
            return Choice(Act.GO)
        self.because = because
        if patient and self.may_wait:
            self.waited_s += LOOKS_EVERY_S
            return Choice(Act.HOLD)
        rest_s = self.rest_left_s
        if rest_s >= LEAST_REST_S and self.safe_again(now_s, next_w, next_s, rest_s):
            self._warned_w = next_w
            return Choice(Act.REST)
        if watch.warning is not None:
            return Choice(Act.END)
        for share in self._shares():
            lower_w = share * next_w
            lowered = self._held(now_s, self._within * lower_w, next_s)
            if lowered.any_probability < SAFE_BELOW and lower_w > step_w:
                self.lowered = True
                return Choice(Act.LOWER, share)
        return Choice(Act.END)

    def would_draw_w(self, share_now: float, share_next: float) -> float:
        """Power of another share of work, in proportion above idle to what is drawn now, W."""
        drawn_w = self._cooling.power.level_w - self._idle_w
        return self._idle_w + drawn_w * share_next / max(share_now, 1e-3)

    def _shares(self) -> Iterator[float]:
        share = 1.0 - LOWERED_BY
        while share >= self._may.step_down_to_share - 1e-9 and not self.lowered:
            yield share
            share -= LOWERED_BY

    def _held(self, now_s: float, watts: float, for_s: float) -> Forecast:
        return self._cooling.what_if(Plan(((now_s, watts),), now_s + for_s))

    def cool_enough(self, now_s: float, whole_s: float) -> bool:
        """While it rests: whether the power held before is safe anew for a whole step."""
        if now_s < self._look_s:
            return False
        self._look_s = now_s + LOOKS_EVERY_S
        return self.safe_again(now_s, self._warned_w, whole_s)

    def safe_again(
        self, now_s: float, held_w: float, whole_s: float, rest_s: float = 0.0
    ) -> bool:
        """Whether the whole step is safe from now, or after a rest."""
        steps = ((now_s, self._idle_w), (now_s + rest_s, held_w))
        plan = Plan(steps if rest_s > 0.0 else steps[1:], now_s + rest_s + whole_s)
        return self._cooling.what_if(plan).any_probability < SAFE_BELOW
