"""Runs told event by event, whose verdicts are whatever the test wants them to be."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from burnin.core.events import Event, ReadingTaken, RunFinished, RunStarted, StageStarted
from burnin.core.events import StageFinished as Finished
from burnin.core.meaning import Reason
from burnin.core.opening import ProfileOpened
from burnin.core.reading import Limit, Reading, judge, judge_text, not_measured, of_stage
from burnin.core.verdict import Ended, OwedWork, RunVerdict, StageVerdict, VerdictReason
from burnin.profile.loader import parse_profile
from burnin.record.reader import Record, read_record
from burnin.run.begin import profile_opened
from tests.record import streams

END_UTC = "2026-03-02T09:15:09.000Z"
PROFILE = """format = 1
title = "One look"

[guards]
gpu_temp_limit_c = 90.0

[[stages]]
stage = "enumeration"
"""


def opened_profile(text: str = PROFILE) -> ProfileOpened:
    """A profile that can be used, as a run opens with it."""
    return profile_opened(parse_profile("look", "look.toml", text, tomllib.loads(text)))


def good(name: str = "lamps") -> Reading:
    """A count within its limit."""
    return judge(name, 3, "", Limit(0.0, 3.0))


def bad(name: str = "lamps") -> Reading:
    """A count above its limit."""
    return judge(name, 4, "", Limit(0.0, 3.0))


def unread(name: str = "screens") -> Reading:
    """What a run must have and could not."""
    return not_measured(name, "", streams.WhyReason.NO_LAMP())


def word(name: str, value: str) -> Reading:
    """A word that must be ``right``."""
    return judge_text(name, value, ("right",))


@dataclass(frozen=True)
class Told:
    """A stage as the run told it."""

    stage: str
    kind: str
    verdict: StageVerdict | None
    readings: tuple[Reading, ...] = ()
    reasons: tuple[Reason, ...] = ()
    title: str = ""

    def events(self) -> Iterable[Event]:
        """Its start, its readings, and its end where it has one (`verdict` None: cut)."""
        yield StageStarted(self.stage, self.kind, self.title, 0.0)
        for reading in self.readings:
            yield ReadingTaken(of_stage(reading, self.stage))
        if self.verdict is not None:
            yield Finished(self.stage, self.kind, self.verdict, self.reasons)


def start(profile: ProfileOpened | None = None, **opening: Any) -> RunStarted:
    """The start of a run with these particulars."""
    first = streams.stream()[0]
    assert isinstance(first, RunStarted)
    profile = profile or opened_profile()
    return replace(first, opening=replace(first.opening, profile=profile, **opening))


def end(
    verdict: RunVerdict,
    reason: Reason | None = None,
    ended: Ended = Ended.DONE,
    owed: tuple[OwedWork, ...] = (),
) -> RunFinished:
    """The end of a run with what it claims."""
    told = reason or VerdictReason.ALL_STAGES_PASSED(stages_count=1)
    return RunFinished(END_UTC, verdict, told, ended, owed)


def record_of(folder: Path, *parts: Event | Told, sums: bool = False) -> Record:
    """The record of these events, read back."""
    events: list[Event] = []
    for part in parts:
        events.extend(part.events() if isinstance(part, Told) else [part])
    return read_record(streams.write(folder / "r", events, sums=sums))
