"""A run as a stream of typed events: it opens with all that is known and closes with a verdict.

Files, terminal and sheet subscribe to this stream or read it back; none of them touches hardware.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from burnin.core.foreseen import ForecastsKept, Foreseen, StillLikely
from burnin.core.meaning import Cause, Check, Note, Prompt, Reason
from burnin.core.opening import Opening
from burnin.core.reading import Reading
from burnin.core.sample import Sample
from burnin.core.verdict import Ended, OwedWork, RunVerdict, StageVerdict


@dataclass(frozen=True)
class RunStarted:
    """All that is known before the first stage; `stages` are the names of those to come."""

    run_id: str
    time_utc: str
    opening: Opening
    stages: tuple[str, ...]


@dataclass(frozen=True)
class StageStarted:
    """A stage begins; `expected_s` is how long it should take (0 if nobody can say).

    `own_title` is the profile's title for it, mostly empty. `taken_over`: another run showed it.
    """

    stage: str
    kind: str
    own_title: str
    expected_s: float
    taken_over: bool = False


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
    note: Note | None = None


@dataclass(frozen=True)
class ForecastMade:
    """What a guard expects: which limit is nearest, and in how many seconds (None: never).

    `band`: what the die's sensor should read so many seconds from now; empty without load or model.
    """

    guard: str
    signal: str
    limit: float
    crossing_in_s: float | None
    forecast: Note
    band: tuple[Foreseen, ...] = ()


@dataclass(frozen=True)
class WarningGiven:
    """A limit is likelier than not to be crossed while the load goes on; it ends nothing.

    `value`: what the signal reads, `limit` what it is to cross, `probability` 0 to 1,
    `crossing_in_s` the median time until then. `cause`: what explains it best; `check`: what to
    look at; `warning`: all of it for people.
    """

    stage: str
    guard: str
    signal: str
    value: float | None
    limit: float
    probability: float
    crossing_in_s: float
    cause: Cause
    check: Check
    warning: Note


@dataclass(frozen=True)
class WarningOver:
    """A warning stands no more, after `stood_s` seconds, and why."""

    stage: str
    guard: str
    signal: str
    stood_s: float
    why: Note


@dataclass(frozen=True)
class GuardTripped:
    """A guard ended the load: what was seen and allowed, what is suspected, what to look at.

    `likely`: the causes that may still be behind it, in the order in which to look at them; empty
    where nothing but `suspect` is.
    """

    stage: str
    guard: str
    signal: str
    value: float | None
    limit: float | None
    reason: Reason
    suspect: Cause
    check: Check
    likely: tuple[StillLikely, ...] = ()


@dataclass(frozen=True)
class ForecastsJudged:
    """How good the run's forecasts of the die's temperature were; changes no verdict."""

    kept: tuple[ForecastsKept, ...]
    notes: tuple[Note, ...]


@dataclass(frozen=True)
class Noted:
    """Something worth a line in the journal."""

    stage: str
    note: Note


@dataclass(frozen=True)
class Promised:
    """What a stage says before it starts: how long at most, what it can and cannot prove."""

    stage: str
    promise: tuple[Note, ...]


@dataclass(frozen=True)
class LoadPlanned:
    """What a stage is about to do: `steps` of (from elapsed second, watts), until `end_s`.

    No steps: its watts are not known, only their end; `end_s` 0: nothing is planned any more.
    """

    stage: str
    steps: tuple[tuple[float, float], ...]
    end_s: float
    why: Note | None = None


@dataclass(frozen=True)
class Asked:
    """The technician was asked for something; `answer` is empty when nobody answered in time."""

    stage: str
    prompt: Prompt
    answer: str


@dataclass(frozen=True)
class PromptOpened:
    """A prompt lies open from now: its number in this run, and how long it stands at most."""

    stage: str
    number: int
    prompt: Prompt
    timeout_s: float


@dataclass(frozen=True)
class PromptClosed:
    """A prompt is open no more; `by` tells where it was answered, empty where nobody did in time.

    What was answered stands in `Asked`.
    """

    stage: str
    number: int
    by: str


@dataclass(frozen=True)
class StageFinished:
    """A stage ends, with its verdict and why."""

    stage: str
    kind: str
    verdict: StageVerdict
    reasons: tuple[Reason, ...] = ()


@dataclass(frozen=True)
class TrafficSummed:
    """Sums of link traffic so far in a stage, so that an interrupted soak can go on.

    `errors` and `other`: increase of counters by ``end name``; `counters_missing` says why there
    are none. `broken`: error counters that restarted or stood still, with why.
    """

    stage: str
    seconds: float
    to_card_bytes: int
    to_host_bytes: int
    wrong_words: int
    errors: Mapping[str, int]
    other: Mapping[str, int]
    counters_missing: Reason | None = None
    broken: Mapping[str, Reason] = field(default_factory=dict)


@dataclass(frozen=True)
class CounterAt:
    """What one counter stood at; `end` is ``card`` or ``port``, `modulus` where it wraps."""

    end: str
    name: str
    value: int
    modulus: int | None = None


@dataclass(frozen=True)
class CountersRead:
    """What counters stood at, so that a run which is gone on with knows where they began.

    `of`: ``link_errors`` over the whole run, ``memory_errors`` at the start of a stage. `missing`:
    why there are none.
    """

    stage: str
    of: str
    counters: tuple[CounterAt, ...]
    missing: Reason | None = None


@dataclass(frozen=True)
class SinkDetached:
    """A sink of the stream raised and gets nothing more; the run goes on."""

    sink: str
    reason: Reason


@dataclass(frozen=True)
class KernelLogged:
    """A line of the kernel's log that means something for this run.

    `whose`: ``card``, ``port``, ``driver`` or ``other device``. `counts`: it speaks of the card
    under test and no run in which it was said is a pass. `sequence`: the kernel's number of the
    record, None where it came through the journal.
    """

    stage: str
    whose: str
    counts: bool
    reason: Reason
    sequence: int | None = None


@dataclass(frozen=True)
class RunFinished:
    """The run ends, with its verdict, why, and how it came to its end."""

    time_utc: str
    verdict: RunVerdict
    reason: Reason
    ended: Ended
    owed: tuple[OwedWork, ...] = ()


Event = (
    RunStarted
    | StageStarted
    | SampleTaken
    | ReadingTaken
    | StageProgress
    | ForecastMade
    | WarningGiven
    | WarningOver
    | GuardTripped
    | ForecastsJudged
    | Noted
    | Promised
    | LoadPlanned
    | Asked
    | PromptOpened
    | PromptClosed
    | TrafficSummed
    | CountersRead
    | SinkDetached
    | KernelLogged
    | StageFinished
    | RunFinished
)

Publish = Callable[[Event], None]
