"""A run as a stream of typed events: it opens with all that is known and closes with a verdict.

Files, terminal and sheet subscribe to this stream or read it back; none of them touches hardware.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from burnin.core.reading import Reading
from burnin.core.sample import Sample


@dataclass(frozen=True)
class RunStarted:
    """All that is known before the first stage; `facts` is what run.json holds."""

    run_id: str
    time_utc: str
    facts: Mapping[str, object]
    stages: tuple[str, ...]


@dataclass(frozen=True)
class StageStarted:
    """A stage begins; `expected_s` is how long it should take (0 if nobody can say)."""

    stage: str
    kind: str
    title: str
    expected_s: float


@dataclass(frozen=True)
class SampleTaken:
    """One row of telemetry."""

    sample: Sample


@dataclass(frozen=True)
class ReadingTaken:
    """One judged value."""

    reading: Reading


@dataclass(frozen=True)
class StageProgress:
    """How far a stage is; `done` of `total` in `unit`."""

    stage: str
    done: float
    total: float
    unit: str
    note: str = ""


@dataclass(frozen=True)
class ForecastMade:
    """What a guard expects: which limit is nearest, and in how many seconds (None: never)."""

    guard: str
    signal: str
    limit: float
    crossing_in_s: float | None
    text: str


@dataclass(frozen=True)
class GuardTripped:
    """A guard ended the load. `reason` is one sentence: what was seen, what was allowed."""

    stage: str
    guard: str
    signal: str
    value: float | None
    limit: float | None
    reason: str
    suspect: str
    check: str


@dataclass(frozen=True)
class Noted:
    """Something worth a line in the journal."""

    stage: str
    text: str
    detail: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True)
class Promised:
    """What a stage says before it starts: how long at most, what it can and cannot prove."""

    stage: str
    text: str


@dataclass(frozen=True)
class LoadPlanned:
    """What a stage is about to do: `steps` of (from elapsed second, watts), until `end_s`.

    No steps: its watts are not known, only their end; `end_s` 0: nothing is planned any more. `why`
    in words.
    """

    stage: str
    steps: tuple[tuple[float, float], ...]
    end_s: float
    why: str


@dataclass(frozen=True)
class Asked:
    """The technician was asked for something; `answer` is empty when nobody answered in time."""

    stage: str
    question: str
    answer: str


@dataclass(frozen=True)
class StageFinished:
    """A stage ends; `verdict` is pass, fail, aborted, conditional or not measured."""

    stage: str
    kind: str
    verdict: str
    reason: str


@dataclass(frozen=True)
class OwedWork:
    """What could not be done now, and why; somebody must still do it."""

    stage: str
    what: str
    reason: str


@dataclass(frozen=True)
class RunFinished:
    """The run ends; `verdict` is pass, fail, aborted or conditional, `ended` how it came to end.

    `ended`: done, failed, stopped by hand, or tripped.
    """

    time_utc: str
    verdict: str
    reason: str
    ended: str
    owed: tuple[OwedWork, ...] = ()


Event = (
    RunStarted
    | StageStarted
    | SampleTaken
    | ReadingTaken
    | StageProgress
    | ForecastMade
    | GuardTripped
    | Noted
    | Promised
    | LoadPlanned
    | Asked
    | StageFinished
    | RunFinished
)

Publish = Callable[[Event], None]
