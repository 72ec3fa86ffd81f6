"""What a stage is given: the card's capabilities, the engine, the watch, and where readings go."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Protocol

from burnin.card.card import Card
from burnin.core.clock import Clock
from burnin.core.events import (
    GuardTripped,
    LoadPlanned,
    Noted,
    Promised,
    Publish,
    ReadingTaken,
    StageProgress,
)
from burnin.core.reading import NotMeasured, Reading, of_stage
from burnin.engine.engine import Engine
from burnin.guard.guard import Trip
from burnin.guard.sampler import Watch
from burnin.stages.cold_starts.start_log import NOBODY_ASKED, Boot
from burnin.thermal.forecast import Plan


class Prompter(Protocol):
    """Asks the technician; prompts are short and time out."""

    def ask(self, question: str, timeout_s: float) -> str | NotMeasured:
        """The answer (``yes``, ``no`` or free text), or why there is none."""
        ...


@dataclass
class StageContext:
    """One stage's surroundings; `readings` collects what it measured.

    `memory_bytes` is the card's own figure, 0 where it gives none. `soak_so_far` holds the sums of
    link traffic that an interrupted run had already put on record for this stage.
    """

    stage: str
    card: Card
    cards_found: int
    memory_bytes: int
    engine: Engine | NotMeasured
    watch: Watch
    clock: Clock
    publish: Publish
    prompter: Prompter
    record_folder: Path
    sample_interval_s: float
    optional: tuple[str, ...] = ()
    soak_so_far: Mapping[str, object] | None = None
    boot: Boot | NotMeasured = NOBODY_ASKED
    readings: list[Reading] = field(default_factory=list)
    _told_trip: Trip | None = None

    def take(self, reading: Reading) -> Reading:
        """File a reading under this stage and put it on record."""
        needed = reading.required and reading.name not in self.optional
        filed = replace(of_stage(reading, self.stage), required=needed)
        self.readings.append(filed)
        self.publish(ReadingTaken(filed))
        return filed

    def note(self, text: str, **detail: object) -> None:
        """A line in the journal."""
        self.publish(Noted(self.stage, text, detail))

    def promise(self, text: str) -> None:
        """Say before the start how long it may take, and what it can and cannot prove."""
        self.publish(Promised(self.stage, text))

    def plan_load(self, plan: Plan | None, why: str = "") -> None:
        """Let the forecast guard know the watts to come (None: no more), and put them on record."""
        forecast = self.watch.forecast
        if forecast is None:
            return
        forecast.watch.plan, forecast.watch.ends_s = plan, None
        steps, end_s = ((), 0.0) if plan is None else (plan.steps, plan.end_s)
        self.publish(LoadPlanned(self.stage, steps, end_s, why))

    def load_lasts(self, seconds: float, why: str = "") -> None:
        """Let the forecast guard know how long a load of unknown watts lasts at most."""
        forecast = self.watch.forecast
        if forecast is not None:
            forecast.watch.ends_s = self.watch.elapsed_s() + seconds
            self.publish(LoadPlanned(self.stage, (), forecast.watch.ends_s, why))

    def tell_trip(self, trip: Trip) -> None:
        """Say at once that a guard has ended the load; a second time changes nothing."""
        if trip is self._told_trip:
            return
        self._told_trip = trip
        self.publish(
            GuardTripped(
                self.stage,
                trip.guard,
                trip.signal,
                trip.value,
                trip.limit,
                trip.reason,
                trip.suspect,
                trip.check,
            )
        )

    def cool_down(self, seconds: float) -> None:
        """With the load off after a guard's stop: sample on, for the record and the cooling."""
        end = self.clock.monotonic_s() + seconds
        while self.clock.monotonic_s() < end:
            if not self.watch.observe(self.stage).present:
                return
            self.clock.sleep_s(self.sample_interval_s)

    def progress(self, done: float, total: float, unit: str, note: str = "") -> None:
        """Tell how far the stage is."""
        self.publish(StageProgress(self.stage, done, total, unit, note))

    def rest(self, seconds: float, each: Callable[[], None] | None = None) -> None:
        """Let time pass without load, sampling all the while."""
        end = self.clock.monotonic_s() + seconds
        while self.clock.monotonic_s() < end:
            self.watch.look(self.stage)
            if each is not None:
                each()
            self.clock.sleep_s(self.sample_interval_s)
