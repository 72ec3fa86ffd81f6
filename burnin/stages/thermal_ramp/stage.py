"""Thermal ramp: load is raised, held, taken away; temperatures, resistance and power are judged."""

from __future__ import annotations

from typing import Protocol

from burnin.card.capabilities import CountsFans, ReadsTelemetry, TellsRatings
from burnin.core.reading import known, not_measured
from burnin.guard.sampler import LoadStopped
from burnin.stages.context import StageContext
from burnin.stages.thermal_ramp import own_ramp, stepped_ramp
from burnin.stages.thermal_ramp.cooling_readings import EndOfLoad, cooling_readings
from burnin.stages.thermal_ramp.held_back_readings import held_back_readings
from burnin.stages.thermal_ramp.load_readings import judge_trace
from burnin.stages.thermal_ramp.of_own import clock_readings, in_watts
from burnin.stages.thermal_ramp.own_power_reading import own_power_reading
from burnin.stages.thermal_ramp.ramp_trace import RampTrace
from burnin.stages.thermal_ramp.rest_reading import rest_readings
from burnin.stages.thermal_ramp.settings import ThermalRamp
from burnin.thermal.cooling_verdict import judge_cooling
from burnin.thermal.states import CANNOT_TELL, CoolingState

IDLE_S = 5.0


class Needs(ReadsTelemetry, CountsFans, TellsRatings, Protocol):
    """What a ramp asks of a card."""


def longest_s(settings: ThermalRamp) -> float:
    """How long the load should take at most, rests and cool-down left out."""
    if settings.own_plan is not None:
        return own_ramp.aim_of(settings.own_plan, None).longest_s()
    return sum(step.hold_s for step in settings.steps)


def carry_out(context: StageContext[Needs], settings: ThermalRamp) -> None:
    """Idle, load, cool-down; readings are taken also when a guard ends the load.

    The cool-down is part of what is judged: it identifies the block.
    """
    held = in_watts(settings, context.card.ratings())
    if not isinstance(held, ThermalRamp):
        context.take(not_measured("own_power_told", "W", held))
        return
    settings, trace = held, RampTrace(energy_j=context.joules_before)
    _idle(context, trace)
    try:
        if settings.own_plan is not None:
            own_ramp.climb(context, settings, settings.own_plan, trace)
        else:
            stepped_ramp.climb(context, settings, trace)
    except LoadStopped as stop:
        context.tell_trip(stop.trip)
        seen = _load_is_off(context, settings, trace)
        context.cool_down(settings.cool_down_s)
        _judge_cooling(context, settings, trace, seen)
        raise
    except BaseException:
        _load_is_off(context, settings, trace)
        raise
    seen = _load_is_off(context, settings, trace)
    try:
        context.rest(settings.cool_down_s)
    finally:
        _judge_cooling(context, settings, trace, seen)


def _load_is_off(
    context: StageContext[Needs], settings: ThermalRamp, trace: RampTrace
) -> EndOfLoad | None:
    """Readings of the load itself; what only its end can tell of the cooling."""
    trace.add_last(context.watch.last, context.stage)
    context.plan_load(None)
    forecast = context.watch.forecast
    state: CoolingState = CANNOT_TELL
    end = None
    if forecast is not None:
        verdict = judge_cooling(forecast.watch)
        state = verdict.state
        last = forecast.watch.last
        end = EndOfLoad(verdict.steady, None if last is None else last.fan_rpm)
    own = own_power_reading(trace, settings, context.card.ratings(), context.accuracy)
    for reading in judge_trace(
        trace,
        settings,
        context.card.resolution(),
        state,
        context.accuracy,
        context.card.fan_count(),
    ):
        context.take(reading)
    context.take(own)
    for reading in (
        *held_back_readings(trace, settings),
        *rest_readings(trace, settings, context.card.fan_count()),
        *clock_readings(trace, settings, context.card.ratings()),
    ):
        context.take(reading)
    return end


def _judge_cooling(
    context: StageContext[Needs],
    settings: ThermalRamp,
    trace: RampTrace,
    end: EndOfLoad | None,
) -> None:
    forecast = context.watch.forecast
    if forecast is None or end is None:
        return
    for reading in cooling_readings(forecast.watch, settings, trace, end):
        context.take(reading)


def _idle(context: StageContext[Needs], trace: RampTrace) -> None:
    powers: list[float] = []
    temps: list[float] = []

    def each() -> None:
        last = context.watch.last
        if last is None:
            return
        power_w, temp_c = known(last.telemetry.power_w), known(last.telemetry.gpu_temp_c)
        if power_w is not None:
            powers.append(power_w)
        if temp_c is not None:
            temps.append(temp_c)

    context.rest(IDLE_S, each)
    trace.idle_power_w = sum(powers) / len(powers) if powers else None
    trace.start_temp_c = sum(temps) / len(temps) if temps else None
