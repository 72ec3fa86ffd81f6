"""A job carried out under watch: sample, judge, beat, listen, until the job's last event."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator
from contextlib import closing, contextmanager
from statistics import fmean
from typing import Any

from burnin.core.errors import DeviceLost, EngineError
from burnin.core.reading import NotMeasured
from burnin.core.sample import Sample
from burnin.engine.engine import Engine, HearsPower
from burnin.engine.job import LAST_EVENTS, Failed, Job, Started, WorkEvent
from burnin.engine.power_hold import PowerHold
from burnin.stages.context import StageContext

SOFT_START_S = 4.0
"""Seconds over which an arithmetic load is raised to its share: a step of hundreds of watts at
once says nothing that a ramp of a few seconds does not, and is harder on supply and joints."""


def work(
    context: StageContext[Any],
    job: Job,
    *,
    load_share: float | Callable[[], float] = 1.0,
    on_sample: Callable[[Sample], bool | None] | None = None,
    between: Callable[[], None] | None = None,
) -> Generator[WorkEvent, None, None]:
    """Events of the job as they come; the load is off when this ends, however it ends.

    `load_share` is the share of work that is asked for, where it changes by what tells it now.
    `on_sample` may return True to end the job early; `between` is called again and again while the
    next sample is not due.
    Raises LoadStopped (guard), StoppedByHand, DeviceLost, WorkerSilent where the worker hung, and
    EngineError when the job failed or the worker died.
    """
    engine = context.engine
    if isinstance(engine, NotMeasured):
        raise EngineError(engine.reason)
    engine.begin(job)
    context.watch.load_is_on(True)
    try:
        while True:
            share = load_share() if callable(load_share) else load_share
            sample = context.watch.look(context.stage, load_share=share)
            if on_sample is not None and on_sample(sample):
                return
            _tell_power(engine, sample)
            engine.beat()
            for event in engine.poll():
                if isinstance(event, Failed):
                    lost = DeviceLost if event.device_lost else EngineError
                    raise lost(event.reason)
                yield event
                if isinstance(event, LAST_EVENTS):
                    return
            context.watch.pause(between)
    finally:
        # Load off first, whatever else there is to do (law 11).
        engine.stop()
        context.watch.load_is_on(False)


def run_job(
    context: StageContext[Any],
    job: Job,
    on_event: Callable[[WorkEvent], None],
    on_sample: Callable[[Sample], None] | None = None,
    load_share: float | Callable[[], float] = 1.0,
) -> None:
    """Carry a job out to its last event; same errors as `work`."""
    with closing(work(context, job, load_share=load_share, on_sample=on_sample)) as events:
        for event in events:
            on_event(event)


def _tell_power(engine: Engine, sample: Sample) -> None:
    """Some engines look for the work that draws most."""
    drawn_w = sample.telemetry.power_w
    if isinstance(engine, HearsPower) and not isinstance(drawn_w, NotMeasured):
        engine.hear_power(drawn_w)


@contextmanager
def steady_load(context: StageContext[Any], job: Job) -> Iterator[SteadyLoad]:
    """An arithmetic load that the stage itself holds; it is off when the block ends."""
    engine = context.engine
    if isinstance(engine, NotMeasured):
        raise EngineError(engine.reason)
    engine.begin(job)
    context.watch.load_is_on(True)
    try:
        yield SteadyLoad(context)
    finally:
        engine.stop()
        context.watch.load_is_on(False)


class SteadyLoad:
    """Holds a share of full work while samples are taken."""

    def __init__(self, context: StageContext[Any]) -> None:
        self._context = context
        self._share = 0.0
        self._begun = False
        self._rests_w: list[float] = []
        self._worked = self._held_share = False
        self.power: PowerHold | None = None

    def hold(
        self, share: float, seconds: float, on_sample: Callable[[Sample], bool | None]
    ) -> None:
        """Hold `share` for `seconds`; `on_sample` may return True to end the step early."""
        start_share = self._share
        self.power = None
        self._held_share = share > 0.0

        def next_share(_: Sample, since_s: float) -> float:
            risen = min(1.0, since_s / SOFT_START_S) if share > start_share else 1.0
            return start_share + (share - start_share) * risen

        self._hold(next_share, None, seconds, on_sample)

    def until_begun(
        self, at_most_s: float, on_sample: Callable[[Sample], bool | None]
    ) -> None:
        """No work until the engine says that its job has begun: kernels take seconds to make."""

        def see(sample: Sample) -> bool:
            return bool(on_sample(sample)) or self._begun

        self._hold(lambda _sample, _since_s: 0.0, None, at_most_s, see)

    def step(
        self, share: float, seconds: float, on_sample: Callable[[Sample], bool | None]
    ) -> None:
        """Hold `share` at once, without the soft start: for shares that draw few watts."""
        self.power = None
        self._hold(lambda _sample, _since_s: share, None, seconds, on_sample)

    def hold_power(
        self,
        power_w: float,
        seconds: float,
        on_sample: Callable[[Sample], bool | None],
        *,
        rise_w_per_s: float,
        share_without_sensor: float,
    ) -> None:
        """Hold a board power by varying the work; `power` tells how well it can."""
        if self.power is None:
            self.power = PowerHold(
                power_w,
                idle_w=fmean(self._rests_w) if self._held_share and self._rests_w else None,
                rise_w_per_s=rise_w_per_s,
                share_without_sensor=share_without_sensor,
            )
        else:
            self.power.set_target(power_w)
        held = self.power

        def next_share(sample: Sample, _: float) -> float:
            told = sample.telemetry
            return held.update(sample.elapsed_s, told.power_w, told.energy_j)

        self._hold(next_share, power_w, seconds, on_sample)

    def _hold(
        self,
        next_share: Callable[[Sample, float], float],
        power_w: float | None,
        seconds: float,
        on_sample: Callable[[Sample], bool | None],
    ) -> None:
        context = self._context
        engine = context.engine
        if isinstance(engine, NotMeasured):
            raise EngineError(engine.reason)
        begin_s = context.clock.monotonic_s()
        while True:
            since_s = context.clock.monotonic_s() - begin_s
            if since_s >= seconds:
                return
            sample = context.watch.look(context.stage, load_share=self._share, load_w=power_w)
            self._see_rest(sample)
            self._share = next_share(sample, since_s)
            engine.set_share(self._share)
            _tell_power(engine, sample)
            engine.beat()
            for event in engine.poll():
                if isinstance(event, Failed):
                    lost = DeviceLost if event.device_lost else EngineError
                    raise lost(event.reason)
                self._begun = self._begun or isinstance(event, Started)
            if on_sample(sample):
                return
            context.watch.pause()

    def _see_rest(self, sample: Sample) -> None:
        """Power held after a share of work begins on a card that draws more than at rest."""
        self._worked = self._worked or self._share > 0.0
        power_w = sample.telemetry.power_w
        if not self._worked and isinstance(power_w, float):
            self._rests_w.append(power_w)
