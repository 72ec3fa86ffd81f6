"""The stages of a record, in order, with what is known of each: also of those that never ran."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace

from burnin.core.meaning import Meaning
from burnin.core.verdict import StageVerdict
from burnin.record.journal import JournalEntry
from burnin.record.reader import Record
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.one_line import one_line
from burnin.report.sheet.journal_details import text_at
from burnin.report.sheet.meanings import SheetReason

WHOLE_STAGE = (StageVerdict.NOT_MEASURED, StageVerdict.INCOMPLETE)
"""Verdicts of a stage that did not run or did not finish."""


@dataclass(frozen=True)
class RunStage:
    """One stage of a run. Times in seconds since the run's start, None where it never ran."""

    name: str
    kind: str
    own_title: str
    verdict: StageVerdict
    reasons: tuple[Meaning, ...] = ()
    started_s: float | None = None
    ended_s: float | None = None

    @property
    def number(self) -> str:
        """Its place in the run, empty where the name carries none."""
        found = re.match(r"(\d+)-", self.name)
        return found.group(1) if found else ""

    def title(self, words: Catalogue) -> str:
        """Its title in a language, without its number."""
        return one_line(words.stage(self.kind, self.own_title), 60)

    def numbered(self, words: Catalogue) -> str:
        """Number and title."""
        return f"{self.number} {self.title(words)}".strip()


def run_stages(record: Record) -> tuple[RunStage, ...]:
    """Every stage that ran or was planned; run.json has the last word, the journal the rest."""
    found = _from_journal(record)
    for row in record.run.stages:
        before = found.get(row.stage)
        began, ended = row.started_s, row.ended_s
        found[row.stage] = RunStage(
            name=row.stage,
            kind=row.kind or _kind(row.stage),
            own_title=one_line(row.own_title, 60),
            verdict=StageVerdict(row.verdict),
            reasons=tuple(row.reasons),
            started_s=began if began is not None else (before.started_s if before else None),
            ended_s=ended if ended is not None else (before.ended_s if before else None),
        )
    return tuple(_with_times(stage, record) for stage in found.values())


def _from_journal(record: Record) -> dict[str, RunStage]:
    found: dict[str, RunStage] = {}
    given = _profile_titles(record)
    for entry in record.events("RunStarted"):
        planned = entry.detail.get("stages")
        for place, name in enumerate(planned if isinstance(planned, list | tuple) else ()):
            if isinstance(name, str):
                own = given[place] if place < len(given) else ""
                found[name] = _never_started(one_line(name), own)
    for entry in record.events("StageStarted"):
        name = one_line(entry.stage or text_at(entry.detail, "stage"))
        found[name] = RunStage(
            name,
            one_line(text_at(entry.detail, "kind")) or _kind(name),
            one_line(text_at(entry.detail, "own_title"), 60),
            StageVerdict.INCOMPLETE,
            (SheetReason.NOT_FINISHED(),),
            entry.elapsed_s,
        )
    for entry in record.events("StageFinished"):
        name = one_line(entry.stage or text_at(entry.detail, "stage"))
        if name in found:
            found[name] = _finished(found[name], entry)
    return found


def _never_started(name: str, own_title: str) -> RunStage:
    why = (SheetReason.NEVER_STARTED(),)
    return RunStage(name, _kind(name), own_title, StageVerdict.NOT_MEASURED, why)


def _finished(stage: RunStage, entry: JournalEntry) -> RunStage:
    try:
        verdict = StageVerdict(text_at(entry.detail, "verdict"))
    except ValueError:
        return stage
    reasons = entry.reasons()
    return replace(stage, verdict=verdict, reasons=reasons, ended_s=entry.elapsed_s)


def _with_times(stage: RunStage, record: Record) -> RunStage:
    """Times from the samples where neither run.json nor the journal has them."""
    own = [
        moment
        for moment, name in zip(record.series.elapsed_s, record.series.stages, strict=True)
        if name == stage.name
    ]
    if not own:
        return stage
    first, last = own[0], own[-1]
    if any(reason.means(SheetReason.NEVER_STARTED) for reason in stage.reasons):
        why = (SheetReason.NOT_FINISHED(),)
        stage = replace(stage, verdict=StageVerdict.INCOMPLETE, reasons=why)
    started = stage.started_s if stage.started_s is not None else first
    return replace(stage, started_s=started, ended_s=stage.ended_s or max(last, started))


def _profile_titles(record: Record) -> tuple[str, ...]:
    """Titles that the profile gave its stages, in order, empty where it gave none."""
    try:
        profile = tomllib.loads(record.run.profile.text)
    except (ValueError, RecursionError):
        return ()
    stages = profile.get("stages")
    listed = stages if isinstance(stages, list) else []
    return tuple(
        one_line(text_at(stage, "title"), 60) if isinstance(stage, Mapping) else ""
        for stage in listed
    )


def _kind(name: str) -> str:
    return re.sub(r"^\d+-", "", name)
