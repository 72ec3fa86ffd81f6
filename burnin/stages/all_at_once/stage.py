"""All at once: arithmetic, memory and both ways of the link, each checked; then in power steps."""

from __future__ import annotations

from typing import Protocol

from burnin.card.capabilities import HasMemory, TellsRatings
from burnin.core.reading import Verdict, known, not_measured
from burnin.engine.job import AllAtOnce, MemoryTest
from burnin.stages.all_at_once.leg import PARTS, Leg, carry_out_leg
from burnin.stages.all_at_once.meanings import TogetherNote, TogetherReason
from burnin.stages.all_at_once.settings import TogetherSettings
from burnin.stages.all_at_once.together_readings import (
    power_readings,
    rate_readings,
    step_readings,
    wrong_in_steps,
    wrong_together,
)
from burnin.stages.context import StageContext
from burnin.stages.counters_kept import counters_at_start
from burnin.stages.memory.own_errors import MEMORY_ERRORS, own_errors

RAMP = "thermal_ramp"
"""The kind of stage that must have passed before power is stepped."""
_RAMPED = 0.9
"""Least share of full work that the ramp must have reached before power is stepped to all of it."""
_ALONE_IN_STEPS_S = 0.5
_BEGINS_WITHIN_S = 15.0
"""An engine may take so long until its work begins, and to find the mix that draws most."""
_PASS_S = 5.0
"""A pass over the memory of a large card takes about so long at most."""


class Needs(HasMemory, TellsRatings, Protocol):
    """What the stage asks of a card."""


def expected_s(settings: TogetherSettings) -> float:
    """Work, the parts alone before it, and the steps, each with its own beginning."""
    steps = sum(step.hold_s + 2 * _ALONE_IN_STEPS_S + 2.0 for step in settings.steps)
    return settings.load_s + 3.0 * settings.alone_s + steps


def carry_out(context: StageContext[Needs], settings: TogetherSettings) -> None:
    """All at once for the asked time; then the steps, where nothing was wrong and a ramp passed."""
    counted = counters_at_start(context, MEMORY_ERRORS, context.card.memory_errors())
    free_bytes = known(context.card.free_memory_bytes()) or 0
    whole = Leg(rate_hz=0.0)
    reached = False
    try:
        _work(context, settings, free_bytes, whole, settings.load_s, settings.alone_s)
        reached = True
    finally:
        for reading in wrong_together(whole):
            context.take(reading)
        if settings.steps and not reached:
            context.take(not_measured("power_steps", "", TogetherReason.UNFINISHED()))
    if whole.result is not None:
        for reading in rate_readings(whole.result, context.memory_bytes):
            context.take(reading)
    context.take(own_errors(counted, context.card.memory_errors()))
    ratings = context.card.ratings()
    for reading in power_readings(whole, settings, ratings, context.accuracy):
        context.take(reading)
    if settings.steps:
        _steps(context, settings, free_bytes, whole)


def _steps(
    context: StageContext[Needs], settings: TogetherSettings, free_bytes: int, whole: Leg
) -> None:
    """Leg after leg until something is wrong; never on a card whose ramp has not passed."""
    if RAMP not in context.passed:
        context.take(not_measured("power_steps", "", TogetherReason.NO_PASSED_RAMP()))
        return
    if context.ramped_share < _RAMPED:
        too_low = TogetherReason.RAMP_TOO_LOW(
            reached_pct=100.0 * context.ramped_share, needed_pct=100.0 * _RAMPED
        )
        context.take(not_measured("power_steps", "", too_low))
        return
    if any(r.verdict is Verdict.FAIL for r in context.readings):
        context.take(not_measured("power_steps", "", TogetherReason.WRONG_BEFORE_STEPS()))
        return
    legs: list[Leg] = []
    parts = () if whole.result is None else whole.result.parts
    alone_per_s = {part.part: part.alone_per_s for part in parts}
    mix = -1 if whole.result is None else whole.result.mix
    try:
        for step in settings.steps:
            context.note(TogetherNote.STEPS_BEGIN(rate_hz=step.rate_hz, seconds=step.hold_s))
            legs.append(Leg(step.rate_hz, alone_per_s, mix=mix))
            _work(context, settings, free_bytes, legs[-1], step.hold_s, _ALONE_IN_STEPS_S)
            for reading in step_readings(legs[-1], context.accuracy):
                context.take(reading)
            if legs[-1].faults:
                break
    finally:
        for reading in wrong_in_steps(legs, len(settings.steps)):
            context.take(reading)


def _work(
    context: StageContext[Needs],
    settings: TogetherSettings,
    free_bytes: int,
    leg: Leg,
    seconds: float,
    alone_s: float,
) -> None:
    """One leg: the job for its time."""
    memory = MemoryTest(
        share=settings.share_of_free, patterns=tuple(settings.patterns), seed=settings.seed,
        free_bytes=free_bytes,
    )  # fmt: skip
    job = AllAtOnce(seconds, memory, settings.seed, alone_s, leg.rate_hz, mix=leg.mix)
    lasts_s = seconds + len(PARTS) * alone_s + _PASS_S + _BEGINS_WITHIN_S
    context.load_lasts(lasts_s, TogetherNote.ALL_WORK())
    try:
        carry_out_leg(context, job, leg)
    finally:
        context.plan_load(None)
