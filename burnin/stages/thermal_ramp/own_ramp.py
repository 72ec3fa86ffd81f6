"""A ramp that plans itself, carried out: each sample goes to the guards first, then to the ramp."""

from __future__ import annotations

import math

from burnin.core.meaning import Note, Reason
from burnin.core.sample import Sample
from burnin.engine.job import ArithmeticLoad
from burnin.guard.forecast_guard import ForecastGuard
from burnin.stages.context import StageContext
from burnin.stages.thermal_ramp.hold_back import Act
from burnin.stages.thermal_ramp.meanings import ThermalRampNote, ThermalRampReason
from burnin.stages.thermal_ramp.ramp_trace import RampTrace
from burnin.stages.thermal_ramp.settings import OwnPlan, ThermalRamp
from burnin.stages.thermal_ramp.warned import gave_up, hold_back_of
from burnin.stages.working import SteadyLoad, steady_load
from burnin.thermal.inputs import Row
from burnin.thermal.own_plan.ramp_aim import Aim
from burnin.thermal.own_plan.ramp_decision import Do, Next
from burnin.thermal.own_plan.ramp_planner import Ramp

FULL_WORK_S = 5.0
FULL_WORK_SHARE = 0.97
"""Full work that stays below this share of a step's power for so long is all that there is."""
UNREAD_AFTER_S = 5.0
_IDLE_W = 20.0
"""Taken for a card whose idle power nobody has measured yet, to say how long a ramp takes."""


def aim_of(plan: OwnPlan, idle_w: float | None) -> Aim:
    """The aim of a profile's own plan, on a card that draws `idle_w` at rest."""
    return Aim(
        top_w=plan.top_w,
        gentle_w=plan.gentle_w,
        budget_j=plan.budget_j,
        idle_w=_IDLE_W if idle_w is None else idle_w,
        least_s=plan.least_s,
        most_s=plan.most_s,
        soak_s=plan.soak_s,
        dry=plan.no_loop,
        cool_most_s=plan.rest_at_most_s,
    )


def climb(
    context: StageContext[object], settings: ThermalRamp, plan: OwnPlan, trace: RampTrace
) -> None:
    """Carry the plan out; an end by plan says in `trace.cut` what was not reached, and why.

    Raises LoadStopped when a guard ends the load.
    """
    forecast, last = context.watch.forecast, context.watch.last
    row = None if forecast is None or last is None else forecast.row(last)
    if forecast is None or row is None:
        trace.cut = ThermalRampReason.NOTHING_TO_PLAN_BY()
        context.note(ThermalRampNote.ENDED(reason=trace.cut))
        return
    aim = aim_of(plan, trace.idle_power_w)
    ramp = Ramp(aim, forecast.watch, context.joules_before)
    context.promise(*ramp.promise(row))
    longest_s = aim.longest_s(ramp.first_w(row))
    climber = _Climber(context, settings, forecast, ramp, trace, longest_s)
    chosen = climber.begin(row)
    if chosen.do is Do.STEP:
        with steady_load(context, ArithmeticLoad(0.0)) as load:
            while chosen.do in (Do.STEP, Do.COOL):
                chosen = climber.hold(load, chosen)
    if chosen.do is not Do.DONE:
        trace.cut = ThermalRampReason.ENDED_BY_PLAN(reason=chosen.why)
        context.note(ThermalRampNote.ENDED(reason=trace.cut))
        return
    trace.cut = trace.gave_up
    done = _note(chosen.why)
    if done is not None:
        context.note(done)


def _note(why: Reason | Note | None) -> Note | None:
    """Why as a line of the journal: only a stop is told by a reason."""
    return ThermalRampNote.ENDED(reason=why) if isinstance(why, Reason) else why


class _Climber:
    """Holds what the ramp decides, until it decides otherwise."""

    def __init__(
        self,
        context: StageContext[object],
        settings: ThermalRamp,
        forecast: ForecastGuard,
        ramp: Ramp,
        trace: RampTrace,
        longest_s: float,
    ) -> None:
        self._context, self._settings = context, settings
        self._forecast, self._ramp, self._trace = forecast, ramp, trace
        self._longest_s = longest_s
        self._worked_s = 0.0
        self._read_s = self._fits_s = context.watch.elapsed_s()
        self._chosen = Next(Do.HOLD, 0.0)
        self._load: SteadyLoad | None = None
        self._back = hold_back_of(context, settings, trace)

    def begin(self, row: Row) -> Next:
        """The first step, or why there is none; a card too warm for it rests before."""
        chosen, found = self._ramp.begin(row), row
        while chosen.do is Do.COOL:
            self._context.progress(0.0, self._longest_s, "s", _note(chosen.why))
            self._context.rest(1.0)
            found = self._row(self._context.watch.last) or found
            chosen = self._ramp.begin(found)
        if found is not row and chosen.do is Do.STEP:
            self._context.promise(*self._ramp.promise(found))
        return chosen

    def hold(self, load: SteadyLoad, chosen: Next) -> Next:
        """Hold a step, or rest, until the ramp decides otherwise; that decision."""
        self._load, self._chosen = load, Next(Do.HOLD, 0.0)
        self._read_s = self._fits_s = self._context.watch.elapsed_s()
        self._context.plan_load(self._forecast.watch.plan, _note(chosen.why))
        if chosen.do is Do.COOL:
            began_s = self._context.watch.elapsed_s()
            load.hold(0.0, math.inf, self._on_sample)
            if self._back is not None and self._back.because is not None:
                self._back.rested_s += self._context.watch.elapsed_s() - began_s
                self._trace.rested_s = self._back.rested_s
            return self._chosen
        self._trace.begin_step(chosen.watts)
        load.hold_power(
            chosen.watts,
            math.inf,
            self._on_sample,
            rise_w_per_s=self._settings.power_rise_w_per_s,
            share_without_sensor=0.0,
        )
        if self._chosen.do in (Do.STEP, Do.DONE):
            self._trace.steps_completed += 1
        return self._chosen

    def _on_sample(self, sample: Sample) -> bool:
        """One sample, which the guards have let pass; true where something else is to be done."""
        resting = sample.load_w is None
        if not resting:
            self._trace.add(sample)
        row = self._row(sample)
        if row is None:
            if sample.elapsed_s - self._read_s > UNREAD_AFTER_S:
                self._chosen = Next(Do.STOP, 0.0, ThermalRampReason.UNREAD())
            return self._chosen.do is not Do.HOLD
        self._read_s = sample.elapsed_s
        if not resting:
            self._see_full_work(row)
        chosen = self._chosen_now(sample, row, resting=resting)
        self._trace.energy_j = self._ramp.energy_j
        self._tell(sample, chosen)
        goes_on = chosen.do is Do.HOLD or (chosen.do is Do.COOL and resting)
        if not goes_on:
            self._chosen = chosen
        return not goes_on

    def _chosen_now(self, sample: Sample, row: Row, *, resting: bool) -> Next:
        """What the ramp does after this row, which it may not climb on while a warning stands."""
        back, trace, ramp = self._back, self._trace, self._ramp
        if back is None or resting:
            return ramp.decide(row)
        plan = self._forecast.watch.plan
        left_s = 0.0 if plan is None else max(0.0, plan.end_s - row.time_s)
        act = back.see_held(self._context.watch, sample, left_s, ramp.held_at_most_s)
        trace.waited_s = back.waited_s
        chosen = ramp.decide(row, climbs=act.act is Act.GO)
        if chosen.do in (Do.STOP, Do.DONE) or act.act in (Act.GO, Act.HOLD):
            return chosen
        if act.act is Act.REST:
            self._context.note(ThermalRampNote.WARNING_REST(rest_s=back.rest_left_s))
            return ramp.rest(row, back.rest_left_s)
        if act.act is Act.LOWER:
            lower_w = act.share * ramp.watts
            held = ThermalRampNote.POWER(power_w=lower_w)
            trace.gave_up = gave_up(back, self._top(), held)
            self._context.note(ThermalRampNote.WARNING_LOWER(share=act.share))
            return ramp.step_down(row, lower_w)
        if trace.gave_up is None:
            trace.gave_up = gave_up(back, ThermalRampNote.POWER(power_w=ramp.watts), None)
        return Next(Do.STOP, 0.0, trace.gave_up)

    def _top(self) -> Note:
        plan = self._settings.own_plan
        return ThermalRampNote.POWER(power_w=self._ramp.watts if plan is None else plan.top_w)

    def _see_full_work(self, row: Row) -> None:
        """All the work there is, and yet too little power: there is no higher step than this."""
        held = self._load.power if self._load is not None else None
        short = row.power_w < FULL_WORK_SHARE * self._ramp.watts
        if held is None or not held.saturated or not short:
            self._fits_s = row.time_s
        elif row.time_s - self._fits_s > FULL_WORK_S:
            self._trace.full_work = True
            if self._ramp.full_work(row):
                self._context.plan_load(
                    self._forecast.watch.plan, ThermalRampNote.FULL_WORK()
                )

    def _tell(self, sample: Sample, chosen: Next) -> None:
        steps = self._trace.steps
        if sample.load_w is None:
            note = ThermalRampNote.RESTING()
        else:
            begun_s = steps[0][0].elapsed_s
            self._worked_s = sample.elapsed_s - begun_s
            note = ThermalRampNote.OWN_STEP(
                number=len(steps), power_w=self._ramp.watts, why=_note(chosen.why)
            )
        done_s = min(self._worked_s, self._longest_s)
        self._context.progress(done_s, self._longest_s, "s", note)

    def _row(self, sample: Sample | None) -> Row | None:
        return None if sample is None else self._forecast.row(sample)
