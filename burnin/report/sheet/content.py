"""The sheet's content: one structure, made from a record, that page and paper both print.

Every text in it is plain text: it never holds markup of any kind.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from burnin.core.verdict import RunVerdict, StageVerdict
from burnin.record.reader import Record
from burnin.record.reasons import RecordReason
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.one_line import one_line
from burnin.report.sheet import particulars
from burnin.report.sheet.failing_words import FailingWords, failing_words
from burnin.report.sheet.forecast_lines import forecast_lines, warning_lines
from burnin.report.sheet.guard_notes import GuardNote, guard_notes
from burnin.report.sheet.marks import Mark, Outcome, outcome, stage_mark
from burnin.report.sheet.open_points import OpenGroup, open_groups
from burnin.report.sheet.particulars import Fact
from burnin.report.sheet.printed_verdict import banners, printed_verdict
from burnin.report.sheet.reading_lines import ReadingLine, reading_lines
from burnin.report.sheet.run_stages import RunStage, run_stages


@dataclass(frozen=True)
class StageLine:
    """One check: its name, what it asks in plain words, and how it came out."""

    number: str
    title: str
    meaning: str
    mark: Mark
    reason: str


@dataclass(frozen=True)
class SheetContent:
    """All that a sheet says, in its order; `labels` are its headings.

    `untyped`, `warnings` and `forecasts` are for the shop alone.
    """

    language: str
    labels: Mapping[str, str]
    title: str
    shop: str
    run_id: str
    verdict: RunVerdict
    outcome: Outcome
    reason: str
    banners: tuple[str, ...]
    people: tuple[Fact, ...]
    card: tuple[Fact, ...]
    guards: tuple[GuardNote, ...]
    stages: tuple[StageLine, ...]
    open_groups: tuple[OpenGroup, ...]
    readings: tuple[ReadingLine, ...]
    failing_words: FailingWords | None
    cautions: tuple[Fact, ...]
    method: tuple[Fact, ...]
    decision_rule: str
    fingerprint: str
    flaws: tuple[str, ...]
    untyped: str
    ended_utc: str
    warnings: tuple[str, ...] = ()
    forecasts: tuple[str, ...] = ()


def compose(record: Record, words: Catalogue) -> SheetContent:
    """What a record's sheet says in a language."""
    run = record.run
    stages = run_stages(record)
    verdict, reason = printed_verdict(record, stages)
    labels = {name: str(text) for name, text in words.group("sheet").items()}
    return SheetContent(
        language=words.language,
        labels=labels,
        title=labels["title"],
        shop=one_line(run.ticket.shop, 80),
        run_id=one_line(run.run_id, 80),
        verdict=verdict,
        outcome=outcome(verdict, words, simulated=run.is_simulated),
        reason=one_line(words.say(reason), 400),
        banners=tuple(words.say(banner) for banner in banners(record)),
        people=particulars.people(record, words),
        card=particulars.card(record, words),
        guards=guard_notes(record, stages, words),
        stages=tuple(_stage_line(stage, words) for stage in stages),
        open_groups=open_groups(record, stages, words),
        readings=reading_lines(record, stages, words),
        failing_words=failing_words(record, words),
        cautions=_cautions(verdict, words),
        method=particulars.method(record, words),
        decision_rule=labels["decision_rule"],
        fingerprint=record.sha256("readings.csv") or labels["no_fingerprint"],
        flaws=tuple(one_line(words.say(flaw), 300) for flaw in record.condition.flaws),
        untyped=_untyped(record, words),
        ended_utc=run.ended_utc or run.started_utc,
        warnings=warning_lines(record, words),
        forecasts=forecast_lines(record, words),
    )


def _stage_line(stage: RunStage, words: Catalogue) -> StageLine:
    passed = stage.verdict is StageVerdict.PASS
    return StageLine(
        number=stage.number,
        title=stage.title(words),
        meaning=words.asks(stage.kind),
        mark=stage_mark(stage.verdict, words),
        reason="" if passed else one_line(words.says(stage.reasons), 400),
    )


def _cautions(verdict: RunVerdict, words: Catalogue) -> tuple[Fact, ...]:
    warned = words.group("cautions")
    bad = verdict in (RunVerdict.FAIL, RunVerdict.ABORTED)
    names = (*(("do_not_use",) if bad else ()), *(n for n in warned if n != "do_not_use"))
    return tuple(Fact(*warned[name]) for name in names)


def _untyped(record: Record, words: Catalogue) -> str:
    """What an older record cannot say: meanings of its words, edits of its rows; mostly empty."""
    lines = [] if record.condition.chained else [words.say(RecordReason.NO_CHAIN())]
    if record.untyped:
        told = words.label("sheet", "untyped").format(
            format=record.format_read,
            count=words.number(f"{len(record.untyped):,}"),
            places=one_line("; ".join(record.untyped), 300),
        )
        lines.append(told)
    return " ".join(lines)
