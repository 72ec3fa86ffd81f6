"""What a stage is given: the card's capabilities, the engine, the watch, and where readings go.

A stage names in its signature what it asks of the card: `StageContext[Needs]`, `Needs` a Protocol
made of those in `burnin.card.capabilities`. `offer` lets it see no more than that.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Generic, Protocol, TypeVar

from burnin.core.accepted_risk import under_rule
from burnin.core.clock import Clock
from burnin.core.decision import (
    USUAL_RULE,
    USUAL_SENSORS,
    DecisionRule,
    RuleTerm,
    SensorAccuracy,
)
from burnin.core.events import (
    CountersRead,
    GuardTripped,
    LoadPlanned,
    Noted,
    Promised,
    Publish,
    ReadingTaken,
    StageProgress,
    TrafficSummed,
)
from burnin.core.meaning import Note, Prompt
from burnin.core.proven_bench import BenchShown
from burnin.core.reading import NotMeasured, Reading, Verdict, of_stage
from burnin.engine.engine import Engine
from burnin.engine.job import FailingWord
from burnin.guard.guard import Trip
from burnin.guard.sampler import Watch
from burnin.profile.under_load import UnderLoadPoint
from burnin.stages.boot import NOBODY_ASKED, Boot, StartsKept
from burnin.thermal.inputs import Plan

C_co = TypeVar("C_co", covariant=True)


_JUDGED = (Verdict.PASS, Verdict.FAIL, Verdict.UNSURE)


def _by_a_rule(reading: Reading) -> Reading:
    """The reading with the rule that judged it: the stage's own where no other is named."""
    if reading.rule is None and reading.verdict in _JUDGED:
        return replace(reading, rule=RuleTerm.BY_STAGE())
    return reading


@dataclass(frozen=True)
class Interrupted:
    """What a stage that was cut had put on record already, beside readings and traffic.

    `counters`: what counters stood at when it first began, by what they count. `failed_words`:
    memory words that had read back wrong.
    """

    counters: Mapping[str, CountersRead] = field(default_factory=dict)
    failed_words: tuple[FailingWord, ...] = ()


NOTHING_BEFORE = Interrupted()

NEVER_OPTIONAL = frozenset({"full_link_shown", "anything_moved", "any_measured"})
"""Readings that no profile can let off: what could not be shown here stays owed, and where nobody
moved or measured anything there is nothing to pass."""


class UndeclaredCapability(AttributeError):
    """A stage asked the card for something that its kind does not declare."""


class _Offered:
    """A card with nothing but what some capabilities name."""

    def __init__(self, card: object, names: frozenset[str]) -> None:
        self._card, self._names = card, names

    def __getattr__(self, name: str) -> Any:
        if name not in self._names:
            declared = ", ".join(sorted(self._names)) or "nothing"
            raise UndeclaredCapability(
                f"this kind of stage does not declare {name}(); it declares {declared}"
            )
        return getattr(self._card, name)


def offer(card: object, capabilities: Sequence[type]) -> Any:
    """The card as a stage that declares these Protocols sees it.

    Anything else raises UndeclaredCapability at the moment at which it is asked for.
    """
    return _Offered(card, frozenset().union(*map(methods_of, capabilities)))


def methods_of(capability: type) -> frozenset[str]:
    """Names of what a Protocol asks of a card."""
    return frozenset(
        name
        for base in capability.__mro__
        if getattr(base, "_is_protocol", False) and base is not Protocol
        for name in vars(base)
        if not name.startswith("_")
    )


class Prompter(Protocol):
    """Asks the technician; prompts are short and time out."""

    def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:
        """The answer (``yes``, ``no`` or free text), or why there is none."""
        ...


@dataclass
class StageContext(Generic[C_co]):
    """One stage's surroundings; `readings` collects what it measured.

    `card` offers what the stage's kind declares. `memory_bytes` is the card's own figure, 0 where
    it gives none. `soak_so_far` holds the sums of link traffic that an interrupted run had already
    put on record for this stage, `interrupted` what else. `rule` is the profile's accepted risk,
    `accuracy` what it knows of the card's sensors. `boot` and `starts` serve stages that need
    several boots.
    `bench_shown` is what the card's slot has shown before. `joules_before`: heat above idle that
    the run gave the card before its first load, to find out whose work it is. `passed`: kinds of
    stages that this run itself has passed so far, each time. `ramped_share`: share of full work, or
    of the card's own power, that a passed ramp of this run has reached. `under_load`: what the
    profile wants measured while the card works.
    """

    stage: str
    card: C_co
    cards_found: int
    memory_bytes: int
    engine: Engine | NotMeasured
    watch: Watch
    clock: Clock
    publish: Publish
    prompter: Prompter
    record_folder: Path
    sample_interval_s: float
    starts: StartsKept
    optional: tuple[str, ...] = ()
    rule: DecisionRule = USUAL_RULE
    accuracy: SensorAccuracy = USUAL_SENSORS
    soak_so_far: TrafficSummed | None = None
    interrupted: Interrupted = NOTHING_BEFORE
    boot: Boot | NotMeasured = NOBODY_ASKED
    bench_shown: BenchShown | None = None
    joules_before: float = 0.0
    passed: frozenset[str] = frozenset()
    ramped_share: float = 0.0
    under_load: tuple[UnderLoadPoint, ...] = ()
    readings: list[Reading] = field(default_factory=list)
    _told_trip: Trip | None = None

    def take(self, reading: Reading) -> Reading:
        """File a reading under this stage and put it on record."""
        let_off = reading.name in self.optional and reading.name not in NEVER_OPTIONAL
        needed = reading.required and not let_off
        judged = _by_a_rule(under_rule(reading, self.rule))
        filed = replace(of_stage(judged, self.stage), required=needed)
        self.readings.append(filed)
        self.publish(ReadingTaken(filed))
        return filed

    def note(self, note: Note) -> None:
        """A line in the journal."""
        self.publish(Noted(self.stage, note))

    def promise(self, *promise: Note) -> None:
        """Say before the start how long it may take, and what it can and cannot prove."""
        self.publish(Promised(self.stage, promise))

    def plan_load(self, plan: Plan | None, why: Note | None = None) -> None:
        """Let the forecast guard know the watts to come (None: no more), and put them on record."""
        forecast = self.watch.forecast
        if forecast is None:
            return
        forecast.watch.plan, forecast.watch.ends_s = plan, None
        steps, end_s = ((), 0.0) if plan is None else (plan.steps, plan.end_s)
        self.publish(LoadPlanned(self.stage, steps, end_s, why))

    def load_lasts(self, seconds: float, why: Note | None = None) -> None:
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
                trip.likely,
            )
        )

    def cool_down(self, seconds: float) -> None:
        """With the load off after a guard's stop: sample on, for the record and the cooling."""
        end = self.clock.monotonic_s() + seconds
        while self.clock.monotonic_s() < end:
            if not self.watch.cools(self.stage):
                return
            self.watch.pause()

    def progress(self, done: float, total: float, unit: str, note: Note | None = None) -> None:
        """Tell how far the stage is."""
        self.publish(StageProgress(self.stage, done, total, unit, note))

    def rest(self, seconds: float, each: Callable[[], None] | None = None) -> None:
        """Let time pass without load, sampling all the while."""
        end = self.clock.monotonic_s() + seconds
        while self.clock.monotonic_s() < end:
            self.watch.look(self.stage)
            if each is not None:
                each()
            self.watch.pause()
