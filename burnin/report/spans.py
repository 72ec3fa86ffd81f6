"""The stages of a record, in order, with what is known of each: also of those that never ran."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, replace

from burnin.record.reader import RecordData, number, rows, table, text
from burnin.report.figures import plain
from burnin.report.terms import BENCH_TITLES, STAGE_MARKS, STAGE_TITLES

NEVER_STARTED = "the run ended before this stage"
NOT_FINISHED = "the run ended during this stage"


@dataclass(frozen=True)
class Span:
    """One stage of a run. Times in seconds since the run's start, None where it never ran.

    `verdict` is pass, fail, aborted, conditional, not measured or incomplete.
    """

    name: str
    kind: str
    title: str
    verdict: str
    reason: str
    started_s: float | None = None
    ended_s: float | None = None

    @property
    def number(self) -> str:
        """Its place in the run, empty where the name carries none."""
        found = re.match(r"(\d+)-", self.name)
        return found.group(1) if found else ""


def spans(record: RecordData) -> tuple[Span, ...]:
    """Every stage that ran or was planned; run.json has the last word, the journal the rest."""
    found = _from_journal(record)
    for stage in rows(record.facts, "stages"):
        name = plain(text(stage, "stage"))
        kind = plain(text(stage, "kind")) or _kind(name)
        began = number(stage.get("started_s"))
        verdict = text(stage, "verdict").lower().replace("_", " ")
        known_verdict = verdict if verdict in STAGE_MARKS else "incomplete"
        before = found.get(name)
        found[name] = Span(
            name=name,
            kind=kind,
            title=_title(plain(text(stage, "title"), 60), kind),
            verdict=known_verdict,
            reason=plain(text(stage, "reason"), 400),
            started_s=began if began is not None else (before.started_s if before else None),
            ended_s=number(stage.get("ended_s")) or (before.ended_s if before else None),
        )
    return tuple(_with_times(span, record) for span in found.values())


def _from_journal(record: RecordData) -> dict[str, Span]:
    found: dict[str, Span] = {}
    given = _profile_titles(record)
    for row in record.events("RunStarted"):
        planned = row.detail.get("stages")
        for place, name in enumerate(planned if isinstance(planned, list) else ()):
            if isinstance(name, str):
                kind = _kind(plain(name))
                title = _title(given[place] if place < len(given) else "", kind)
                found[plain(name)] = Span(plain(name), kind, title, "not measured", NEVER_STARTED)
    for row in record.events("StageStarted"):
        name = plain(row.stage or text(row.detail, "stage"))
        kind = plain(text(row.detail, "kind")) or _kind(name)
        title = _title(plain(text(row.detail, "title"), 60), kind)
        found[name] = Span(name, kind, title, "incomplete", NOT_FINISHED, row.elapsed_s)
    for row in record.events("StageFinished"):
        name = plain(row.stage or text(row.detail, "stage"))
        verdict = text(row.detail, "verdict").lower().replace("_", " ")
        if name in found and verdict in STAGE_MARKS:
            found[name] = replace(
                found[name],
                verdict=verdict,
                reason=plain(text(row.detail, "reason"), 400),
                ended_s=row.elapsed_s,
            )
    return found


def _with_times(span: Span, record: RecordData) -> Span:
    """Times from the samples where neither run.json nor the journal has them."""
    telemetry = record.telemetry
    own = [
        moment
        for moment, stage in zip(telemetry.elapsed_s, telemetry.stages, strict=True)
        if stage == span.name
    ]
    if not own:
        return span
    if span.reason == NEVER_STARTED:
        span = replace(span, verdict="incomplete", reason=NOT_FINISHED)
    started = span.started_s if span.started_s is not None else own[0]
    return replace(span, started_s=started, ended_s=span.ended_s or max(own[-1], started))


def _profile_titles(record: RecordData) -> tuple[str, ...]:
    """Titles that the profile gave its stages, in order, empty where it gave none."""
    try:
        profile = tomllib.loads(text(table(record.facts, "profile"), "text"))
    except (tomllib.TOMLDecodeError, RecursionError):
        return ()
    return tuple(plain(text(stage, "title"), 60) for stage in rows(profile, "stages"))


def _kind(name: str) -> str:
    return re.sub(r"^\d+-", "", name)


def _title(given: str, kind: str) -> str:
    if given and given.lower() not in (*BENCH_TITLES, kind.replace("_", " ")):
        return given
    return STAGE_TITLES.get(kind) or kind.replace("_", " ").capitalize() or "Stage"
