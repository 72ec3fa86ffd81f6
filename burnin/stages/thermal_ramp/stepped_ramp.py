"""A ramp of steps that the profile names: watts or shares of work, each held for its time."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from burnin.core.meaning import Note
from burnin.core.sample import Sample
from burnin.engine.job import ArithmeticLoad
from burnin.stages.context import StageContext
from burnin.stages.thermal_ramp.hold_back import LOOKS_EVERY_S, NEAR_S, Act, Choice, HoldBack
from burnin.stages.thermal_ramp.meanings import ThermalRampNote, ThermalRampReason
from burnin.stages.thermal_ramp.ramp_trace import RampTrace
from burnin.stages.thermal_ramp.settings import RampStep, ThermalRamp
from burnin.stages.thermal_ramp.warned import gave_up, hold_back_of, rest_until_safe
from burnin.stages.working import SteadyLoad, steady_load
from burnin.thermal.inputs import Plan


def climb(context: StageContext[object], settings: ThermalRamp, trace: RampTrace) -> None:
    """Hold every step; the heat budget, or a warning, may end it before, by plan."""
    with steady_load(context, ArithmeticLoad(0.0)) as load:
        climber = _Climber(context, settings, trace, load)
        climber.plan(0)
        for number in range(len(settings.steps)):
            if not climber.hold(number):
                break
    if trace.gave_up is not None:
        trace.cut = trace.gave_up
    elif trace.steps_completed == len(settings.steps):
        trace.cut = None
    elif trace.spent:
        trace.cut = ThermalRampReason.BUDGET_SPENT()


class _Climber:
    """Holds the steps one by one, and heeds warnings where the profile says how."""

    def __init__(
        self,
        context: StageContext[object],
        settings: ThermalRamp,
        trace: RampTrace,
        load: SteadyLoad,
    ) -> None:
        self._context, self._settings = context, settings
        self._trace, self._load = trace, load
        self._back = hold_back_of(context, settings, trace)
        self._done_s = 0.0
        self._total_s = sum(step.hold_s for step in settings.steps)

    def plan(self, number: int) -> None:
        """Let the guard know what is to come from this step on.

        A ramp that heeds warnings tells no more than it has decided on: the present step.
        """
        steps = self._settings.steps[number : None if self._back is None else number + 1]
        self._plan(steps, ThermalRampNote.STEPS_OF_PROFILE())

    def _plan(self, steps: Sequence[RampStep], why: Note) -> None:
        plan = _plan(steps, self._context.watch.elapsed_s())
        if plan is not None:
            self._context.plan_load(plan, why)

    def hold(self, number: int) -> bool:
        """Hold one step; false: the ramp ends with it."""
        step, trace = self._settings.steps[number], self._trace
        trace.begin_step(step.power_w)
        if number and self._back is not None:
            self.plan(number)
        choice = self._for(number, step, step.hold_s)
        while choice.act is Act.REST:
            rest_until_safe(self._context, self._load, self._back_of_act(), step.hold_s, trace)
            self._context.note(ThermalRampNote.AGAIN())
            trace.begin_step_again()
            self.plan(number)
            choice = self._for(number, step, step.hold_s)
        if self._load.power is not None:
            why = self._load.power.why
            self._context.note(ThermalRampNote.STEP_DONE(asked=_asked(step), why=why))
        if choice.act in (Act.LOWER, Act.END):
            self._give_up(number, choice, step.hold_s - trace.held_s)
            return False
        trace.steps_completed += 1
        self._done_s += step.hold_s
        if _spent(self._settings, trace):
            trace.spent = True
            budget_j = self._settings.heat_budget_j
            self._context.note(ThermalRampNote.BUDGET_SPENT(budget_j=budget_j))
        return not trace.spent and self._goes_on(number)

    def _goes_on(self, number: int) -> bool:
        """Whether the next step may begin; until a warning of it is over this one is held on."""
        back, steps = self._back, self._settings.steps
        if back is None or number + 1 == len(steps):
            return True
        step, following = steps[number], steps[number + 1]
        waits, patient = False, True
        while True:
            watts = _both_w(back, step, following)
            if watts is None:
                return True
            watch, next_s = self._context.watch, following.hold_s
            choice = back.before_next(watch, *watts, next_s, patient=patient)
            if choice.act is Act.HOLD:
                if not waits:
                    on = step.model_copy(update={"hold_s": back.wait_left_s + NEAR_S})
                    self._plan((on,), ThermalRampNote.WARNING_WAIT())
                waits = True
                held = self._for(number, step, LOOKS_EVERY_S)
                self._trace.waited_s = back.waited_s
                spent = _spent(self._settings, self._trace)
                patient = held.act in (Act.GO, Act.HOLD) and not spent
                continue
            if choice.act is Act.REST:
                rest_until_safe(self._context, self._load, back, next_s, self._trace)
            if choice.act in (Act.GO, Act.REST):
                return True
            self._give_up(number + 1, choice, next_s)
            return False

    def _back_of_act(self) -> HoldBack:
        assert self._back is not None  # only it rests, lowers and ends
        return self._back

    def _for(self, number: int, step: RampStep, hold_s: float) -> Choice:
        """Hold on for `hold_s`; with 0 until a warning is over. What is to be done then."""
        back, trace, context = self._back, self._trace, self._context
        began_s = context.watch.elapsed_s()
        chosen = [Choice(Act.GO)]
        note = self._note(number, step)

        def on_sample(sample: Sample) -> bool:
            trace.add(sample)
            inside_s = sample.elapsed_s - trace.steps[-1][0].elapsed_s
            done_s = min(self._done_s + inside_s, self._total_s)
            waits = back is not None and chosen[0].act is Act.HOLD
            said = ThermalRampNote.WARNING_WAIT() if waits else note
            context.progress(done_s, self._total_s, "s", said)
            if back is not None:
                left_s = max(0.0, hold_s - (sample.elapsed_s - began_s))
                chosen[0] = back.see_held(context.watch, sample, left_s, step.hold_s)
                trace.waited_s = back.waited_s
            acts = chosen[0].act in (Act.REST, Act.LOWER, Act.END)
            return acts or _spent(self._settings, trace)

        _hold(self._load, self._settings, step, hold_s, on_sample)
        return Choice(Act.GO) if _spent(self._settings, trace) else chosen[0]

    def _give_up(self, number: int, choice: Choice, left_s: float) -> None:
        """End without this step, or hold less for what is left of it; no step follows."""
        trace, context, back = self._trace, self._context, self._back_of_act()
        step = self._settings.steps[number]
        lower = _lowered(step, choice.share, max(1.0, left_s))
        held = _asked(lower) if choice.act is Act.LOWER else None
        trace.gave_up = gave_up(back, _asked(step), held)
        context.note(ThermalRampNote.ENDED(reason=trace.gave_up))
        if held is None:
            return
        context.note(ThermalRampNote.WARNING_LOWER(share=choice.share))
        trace.begin_step(lower.power_w)
        self._plan((lower,), ThermalRampNote.WARNING_LOWER(share=choice.share))
        self._for(number, lower, lower.hold_s)

    def _note(self, number: int, step: RampStep) -> Note:
        steps_count = len(self._settings.steps)
        return ThermalRampNote.STEP(
            number=number + 1, steps_count=steps_count, asked=_asked(step)
        )


def _both_w(back: HoldBack, step: RampStep, following: RampStep) -> tuple[float, float] | None:
    """What a step and the one that follows hold, W; None where nobody can say."""
    if step.power_w is not None and following.power_w is not None:
        return step.power_w, following.power_w
    if step.load_share and following.load_share is not None and step.power_w is None:
        share = step.load_share
        return back.would_draw_w(share, share), back.would_draw_w(share, following.load_share)
    return None


def _plan(steps: Sequence[RampStep], now_s: float) -> Plan | None:
    """What the guard may know beforehand: nothing where any step is a share of work."""
    planned, at_s = [], now_s
    for step in steps:
        if step.power_w is None:
            return None
        planned.append((at_s, step.power_w))
        at_s += step.hold_s
    return Plan(tuple(planned), at_s)


def _lowered(step: RampStep, share: float, hold_s: float) -> RampStep:
    """The same step with less, of its power and of its share of work, for another time."""
    power_w = None if step.power_w is None else share * step.power_w
    load_share = None if step.load_share is None else share * step.load_share
    changed = {"power_w": power_w, "load_share": load_share, "hold_s": hold_s}
    return step.model_copy(update=changed)


def _spent(settings: ThermalRamp, trace: RampTrace) -> bool:
    budget_j = settings.heat_budget_j
    return budget_j is not None and trace.energy_j >= budget_j


def _asked(step: RampStep) -> Note:
    if step.power_w is not None:
        return ThermalRampNote.POWER(power_w=step.power_w)
    return ThermalRampNote.LOAD(load_share=step.load_share)


def _hold(
    load: SteadyLoad,
    settings: ThermalRamp,
    step: RampStep,
    hold_s: float,
    on_sample: Callable[[Sample], bool | None],
) -> None:
    if step.power_w is None:
        load.hold(step.load_share or 0.0, hold_s, on_sample)
        return
    load.hold_power(
        step.power_w,
        hold_s,
        on_sample,
        rise_w_per_s=settings.power_rise_w_per_s,
        share_without_sensor=0.5 if step.load_share is None else step.load_share,
    )
