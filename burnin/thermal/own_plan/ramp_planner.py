"""A ramp that plans itself: what to do next, from what is known of the cooling so far.

Pure decisions: the caller holds the power and hands in rows; nothing here touches hardware.

A gentle first step is held until the cooling is known; each next step is taken only if its forecast
is safe; where the next is not safe and the state is still open, the present step is held on while
it is safe itself. A card that is only warm from earlier work rests until the next step is safe. A
card that may have no coolant never takes in more than its joule budget.

Use: one `ForecastGuard` for the run, `Ramp(aim, guard.watch)` beside it; every row goes to the
guard first, then to `begin` until a step begins, then to `decide`. Give the guard limits some
kelvin below the true ones: the ramp needs room.
"""

from __future__ import annotations

from burnin.core.meaning import Note
from burnin.thermal.estimator import CoolingWatch
from burnin.thermal.inputs import Plan, Row
from burnin.thermal.meanings import RampNote, RampReason
from burnin.thermal.own_plan.ramp_aim import Aim, safe_first_w
from burnin.thermal.own_plan.ramp_decision import Do, Next
from burnin.thermal.own_plan.rests import Rests
from burnin.thermal.states import DRY_STATES, HEALTHY, CooledBy, Cooling, term_of

DECIDE_EVERY_S = 1.0
DRY_CHANCE = 0.05
"""Below this probability of a block without flow the joule budget no longer binds."""
WORTH_S = 8.0
"""A step that the joule budget ends sooner teaches nothing: the present one is held on."""
WARM_SHARE = 0.6
"""A card too warm for this share of its first step cools first, where it may."""


class Ramp:
    """Decides row by row; one a run. The guards stand beside it and may stop at any row."""

    def __init__(self, aim: Aim, watch: CoolingWatch, spent_j: float = 0.0) -> None:
        """`spent_j`: heat above idle that the card had been given before, out of the budget."""
        self._aim, self._watch = aim, watch
        self._told = False
        self._levels: tuple[float, ...] = ()
        self._at = -1
        self._since_s = self._asked_s = 0.0
        self._energy_j = spent_j
        self._last_s: float | None = None
        self._rests = Rests(aim.cool_most_s)

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
        safe_w = safe_first_w(self._watch.setup.limits, row)
        return max(0.0, min(self._wanted_w(), safe_w))

    def _wanted_w(self) -> float:
        """The first step's power on a card that is cool enough."""
        aim = self._aim
        return min(aim.unproven_w() if self._may_be_dry() else aim.gentle_w, aim.top_w)

    def promise(self, row: Row) -> tuple[Note, ...]:
        """What the aim says before the start, for this card as it is at idle."""
        aim, first_w = self._aim, self.first_w(row)
        if self._rests.left_s > 0.0:
            first_w = max(first_w, WARM_SHARE * self._wanted_w())
        said = aim.promise(aim.dry, first_w)
        if self._may_be_dry() and not aim.dry and aim.budget_j is not None:
            return *said, RampNote.PROMISE_COOLANT_FIRST(budget_kj=aim.budget_j / 1000.0)
        return said

    def begin(self, row: Row) -> Next:
        """The first step, chosen by the first row at idle; ask again while it says to cool."""
        if self._aim.dry and not self._told:
            self._watch.assume(DRY_STATES)
            self._told = True
        first = self.first_w(row)
        self._count(row)
        if first < WARM_SHARE * self._wanted_w() and self._rests.still_cools(row):
            self._rests.begin(row)
            return Next(Do.COOL, 0.0, RampNote.COOLS_FIRST(gpu_temp_c=row.die_c))
        if first < 1.5 * self._aim.idle_w:
            return Next(Do.STOP, 0.0, RampReason.TOO_WARM(gpu_temp_c=row.die_c))
        self._levels = self._aim.levels(first)
        self._take_step(row, 0)
        self._asked_s = self._last_s = row.time_s
        return Next(Do.STEP, self.watts, RampNote.GENTLE_FIRST_STEP())

    def _count(self, row: Row) -> None:
        """Count the time of a rest."""
        self._rests.count(row, self._last_s)
        self._last_s = row.time_s

    def _take_step(self, row: Row, at: int) -> None:
        self._at, self._since_s = at, row.time_s
        self._rests.end()
        self._watch.plan = self._intention(row.time_s)

    def _intention(self, now_s: float) -> Plan:
        end_s = self._since_s + self._held_s(self._at)
        return Plan(((self._since_s, self.watts),), max(end_s, now_s + 1.0))

    @property
    def held_at_most_s(self) -> float:
        """How long the present step is held at most, from its beginning."""
        return self._held_s(self._at)

    def _held_s(self, at: int) -> float:
        """How long a step is held at most from now; a dry block's joules end it sooner."""
        aim = self._aim
        held_s = aim.soak_s if at == len(self._levels) - 1 else aim.most_s
        if not aim.dry or aim.budget_j is None:
            return held_s
        left_j = max(0.0, aim.budget_j - self._energy_j)
        return min(held_s, left_j / max(1.0, self._levels[at] - aim.idle_w))

    def full_work(self, row: Row) -> bool:
        """All the work there is stays below the present step: it is the top one, from this row.

        False where it was the top one before.
        """
        if self._at == len(self._levels) - 1:
            return False
        self._levels = self._levels[: self._at + 1]
        self._take_step(row, self._at)
        return True

    def step_down(self, row: Row, watts: float) -> Next:
        """Hold less than the present step from this row on; it is the top one then."""
        self._levels = (*self._levels[: self._at], watts)
        self._take_step(row, self._at)
        return Next(Do.STEP, watts)

    def rest(self, row: Row, most_s: float) -> Next:
        """Rest for `most_s` at most until the present step is safe anew; else the ramp stops."""
        self._at -= 1
        self._rests.begin(row, most_s)
        self._watch.plan = Plan(((row.time_s, self._aim.idle_w),), row.time_s + most_s)
        return Next(Do.COOL, 0.0)

    def decide(self, row: Row, *, climbs: bool = True) -> Next:
        """What to do after this row, which the watch has seen; no next step unless it `climbs`."""
        if self._last_s is None or self._at < 0:
            raise ValueError("the ramp has not begun")
        self._energy_j += max(0.0, row.power_w - self._aim.idle_w) * (row.time_s - self._last_s)
        self._count(row)
        if self._rests.resting:
            return self._after_rest(row)
        budget = self._over_budget()
        if budget is not None:
            return budget
        if row.time_s - self._asked_s < DECIDE_EVERY_S - 1e-6:
            return Next(Do.HOLD, self.watts)
        self._asked_s = row.time_s
        held_s = row.time_s - self._since_s
        if self._at == len(self._levels) - 1:
            return self._at_top(held_s)
        if held_s < self._aim.least_s or not climbs:
            return Next(Do.HOLD, self.watts, RampNote.TOO_SOON() if climbs else None)
        return self._further(row, held_s)

    def _chances(self) -> tuple[Cooling, float, float]:
        chances = self._watch.probabilities()
        state = max(chances, key=lambda s: chances[s])
        dry = sum(chances[s] for s in DRY_STATES)
        return state, chances[state], dry

    def _may_be_dry(self) -> bool:
        if self._aim.dry:
            return True
        return self._watch.cooled_by not in {CooledBy.FANS, CooledBy.STREAM}

    def _over_budget(self) -> Next | None:
        budget_j = self._aim.budget_j
        if budget_j is None or not self._may_be_dry():
            return None
        if self._energy_j + self.watts * 0.5 < budget_j:
            return None
        spent_kj = self._energy_j / 1000.0
        if self._aim.dry:
            return Next(Do.STOP, 0.0, RampReason.DRY_BUDGET_SPENT(spent_kj=spent_kj))
        if self._chances()[2] < DRY_CHANCE:
            return None
        return Next(Do.STOP, 0.0, RampReason.NO_PROOF_OF_COOLANT(spent_kj=spent_kj))

    def _at_top(self, held_s: float) -> Next:
        if held_s >= self._aim.soak_s:
            return Next(Do.DONE, 0.0, RampNote.TOP_POWER_HELD())
        return Next(Do.HOLD, self.watts, RampNote.TOP_POWER())

    def _further(self, row: Row, held_s: float) -> Next:
        state, probability, _ = self._chances()
        known = self._aim.dry or probability >= self._aim.sure
        safe = self._is_safe(row.time_s)
        patient = held_s < self._aim.most_s
        if self._held_s(self._at + 1) < WORTH_S:
            return Next(Do.HOLD, self.watts, RampNote.TOO_LITTLE_LEFT())
        if safe and (known or not patient):
            self._take_step(row, self._at + 1)
            return Next(Do.STEP, self.watts, RampNote.NEXT_IS_SAFE(state=term_of(state)))
        # of a sound card more is learnt by holding on: only a fault ends the patience early
        faulty = known and not safe and (self._aim.dry or state not in HEALTHY)
        if patient and not (faulty and held_s > self._aim.least_s * 1.5):
            why = RampNote.LEARNING(state=term_of(state), sure_pct=100.0 * probability)
            return Next(Do.HOLD, self.watts, why)
        next_w = self._levels[self._at + 1]
        left_s = self._rests.left_s
        if left_s > 0.0 and self._is_safe(row.time_s, rest_s=left_s):
            self._rests.begin(row)
            self._watch.plan = Plan(((row.time_s, self._aim.idle_w),), row.time_s + left_s)
            return Next(Do.COOL, 0.0, RampNote.SAFE_FROM_COOLER(next_w=next_w))
        return Next(Do.STOP, 0.0, RampReason.WOULD_CROSS(next_w=next_w, state=term_of(state)))

    def _after_rest(self, row: Row) -> Next:
        """On to the next step as soon as it is safe; the rest must not last for ever."""
        if row.time_s - self._asked_s >= DECIDE_EVERY_S - 1e-6:
            self._asked_s = row.time_s
            if self._is_safe(row.time_s):
                self._take_step(row, self._at + 1)
                return Next(Do.STEP, self.watts, RampNote.COOL_ENOUGH())
        if self._rests.may_last(row):
            return Next(Do.COOL, 0.0)
        next_w = self._levels[self._at + 1]
        why = RampReason.WOULD_CROSS_AFTER_REST(next_w=next_w, rested_s=self._rests.rested_s)
        return Next(Do.STOP, 0.0, why)

    def _is_safe(self, now_s: float, rest_s: float = 0.0) -> bool:
        """Whether the next step is, from now on or after a rest."""
        at = self._at + 1
        begin_s = now_s + rest_s
        steps = ((now_s, self._aim.idle_w), (begin_s, self._levels[at]))
        plan = Plan(steps if rest_s else steps[1:], begin_s + self._held_s(at))
        forecast = self._watch.what_if(plan)
        chances = self._watch.probabilities()
        sound = sum(chances[s] for s in HEALTHY) > 0.5
        risk = self._aim.next_risk if sound and not self._aim.dry else 0.0
        return forecast.within(rest_s + 10.0) <= 0.0 and forecast.any_probability <= risk
