"""The sheet's content: one structure, made from a record, that page and paper both print.

Every text in it is plain text: it never holds markup of any kind.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from burnin.record.reader import RecordData, number, table, text
from burnin.report import facts as facts_of
from burnin.report.facts import Fact
from burnin.report.figures import figure, limit_text, plain, value_text, with_unit
from burnin.report.gaps import GapGroup, gap_groups
from burnin.report.outcome import banners, judge_record
from burnin.report.spans import Span, spans
from burnin.report.terms import (
    CAUTIONS,
    DECISION_RULE,
    DO_NOT_USE,
    GUARD_ENDED,
    GUARD_ENDED_BEFORE,
    NO_MEANING,
    READING_MARKS,
    STAGE_MARKS,
    STAGE_MEANINGS,
    Mark,
    Outcome,
)
from burnin.report.titles import is_key, title_of, unit_of

_EXAMPLES = 8


@dataclass(frozen=True)
class StageLine:
    """One check: its name, what it asks in plain words, and how it came out."""

    number: str
    title: str
    meaning: str
    mark: Mark
    reason: str


@dataclass(frozen=True)
class ReadingLine:
    """One measured value, ready to print; `rank` 0 must be shown, higher may be left out."""

    stage: str
    title: str
    value: str
    limit: str
    mark: Mark
    reason: str
    rank: int


@dataclass(frozen=True)
class GuardNote:
    """What a guard did, and why; `opening` says what it ended."""

    opening: str
    sentence: str
    facts: tuple[Fact, ...]


@dataclass(frozen=True)
class FailingWords:
    """Memory that read back wrong: how many words, which bits, and the first of them."""

    summary: str
    header: tuple[str, ...]
    examples: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class SheetContent:
    """All that a sheet says, in its order."""

    title: str
    shop: str
    run_id: str
    verdict: str
    outcome: Outcome
    reason: str
    banners: tuple[str, ...]
    people: tuple[Fact, ...]
    card: tuple[Fact, ...]
    guards: tuple[GuardNote, ...]
    stages: tuple[StageLine, ...]
    gaps: tuple[GapGroup, ...]
    readings: tuple[ReadingLine, ...]
    failing_words: FailingWords | None
    cautions: tuple[Fact, ...]
    method: tuple[Fact, ...]
    decision_rule: str
    fingerprint: str
    flaws: tuple[str, ...]
    ended_utc: str


def compose(record: RecordData) -> SheetContent:
    """What a record's sheet says."""
    stages = spans(record)
    gaps = gap_groups(record, stages)
    verdict, outcome, reason = judge_record(record, stages)
    ticket = table(record.facts, "ticket")
    warned = (DO_NOT_USE, *CAUTIONS) if verdict in ("fail", "aborted") else CAUTIONS
    return SheetContent(
        title="Graphics card test sheet",
        shop=plain(text(ticket, "shop"), 80),
        run_id=plain(text(record.facts, "run_id"), 80),
        verdict=verdict,
        outcome=outcome,
        reason=reason,
        banners=banners(record),
        people=facts_of.people(record),
        card=facts_of.card(record),
        guards=_guard_notes(record, stages),
        stages=tuple(_stage_line(span) for span in stages),
        gaps=gaps,
        readings=_reading_lines(record, stages),
        failing_words=_failing_words(record),
        cautions=tuple(Fact(label, value) for label, value in warned),
        method=facts_of.method(record),
        decision_rule=DECISION_RULE,
        fingerprint=record.readings_sha256 or "readings.csv is missing",
        flaws=record.flaws,
        ended_utc=text(record.facts, "ended_utc") or text(record.facts, "started_utc"),
    )


def _stage_line(span: Span) -> StageLine:
    return StageLine(
        number=span.number,
        title=span.title,
        meaning=STAGE_MEANINGS.get(span.kind, NO_MEANING),
        mark=STAGE_MARKS[span.verdict],
        reason="" if span.verdict == "pass" else span.reason,
    )


def _reading_lines(record: RecordData, stages: tuple[Span, ...]) -> tuple[ReadingLine, ...]:
    """Every value that was measured: what failed or is unsure first, then in order of the run."""
    place = {span.name: span.number for span in stages}
    lines = []
    for row in record.readings:
        if row.verdict == "not measured":
            continue
        unjudged = row.verdict == ""
        rank = 0 if row.verdict in ("fail", "unsure") else (3 if unjudged else 2)
        lines.append(
            ReadingLine(
                stage=place.get(row.stage, plain(row.stage, 40)),
                title=plain(title_of(row.name), 100),
                value=value_text(row),
                limit=limit_text(row),
                mark=READING_MARKS.get(row.verdict, Mark(plain(row.verdict, 20), "dotted")),
                reason="" if row.verdict == "pass" else plain(row.reason, 300),
                rank=rank - 1 if rank and is_key(row.name) else rank,
            )
        )
    return tuple(sorted(lines, key=lambda line: line.rank > 0))


def _guard_notes(record: RecordData, stages: tuple[Span, ...]) -> tuple[GuardNote, ...]:
    titles = {span.name: f"{span.number} {span.title}".strip() for span in stages}
    notes = []
    for place, row in enumerate(record.journal):
        if row.event != "GuardTripped":
            continue
        detail = row.detail
        opening = GUARD_ENDED if place >= record.last_start else GUARD_ENDED_BEFORE
        stage = row.stage or text(detail, "stage")
        unit = unit_of(text(detail, "signal"))
        pairs = (
            ("During", titles.get(stage, plain(stage))),
            ("Guard", plain(text(detail, "guard"))),
            ("Watched", plain(title_of(text(detail, "signal")))),
            ("Seen", _quantity(detail.get("value"), unit)),
            ("Limit", _quantity(detail.get("limit"), unit)),
            ("Suspected", plain(text(detail, "suspect"), 300)),
            ("To check", plain(text(detail, "check"), 300)),
            ("At", f"{row.elapsed_s:.1f} s after the start"),
        )
        sentence = plain(text(detail, "reason"), 400) or "A guard ended the load."
        notes.append(GuardNote(opening, sentence, tuple(Fact(k, v) for k, v in pairs if v)))
    return tuple(notes)


def _quantity(value: object, unit: str) -> str:
    found = number(value)
    return "" if found is None else with_unit(figure(found), unit)


def _failing_words(record: RecordData) -> FailingWords | None:
    words = record.failing_words
    if not words:
        return None
    bits = Counter(bit for word in words for bit in _bits(word.flipped_bits))
    common = ", ".join(f"bit {bit} in {count:,}" for bit, count in bits.most_common(6))
    summary = f"{len(words):,} wrong words are listed in failing_words.csv."
    if common:
        summary += f" Wrong were: {common}; bit 0 is the lowest."
    return FailingWords(
        summary=summary,
        header=("Address (bytes)", "Written", "Read back", "Wrong bits", "Pattern"),
        examples=tuple(
            tuple(
                plain(cell, 40)
                for cell in (w.address_bytes, w.expected, w.got, w.flipped_bits, w.pattern)
            )
            for w in words[:_EXAMPLES]
        ),
    )


def _bits(flipped: str) -> list[int]:
    """Numbers of the bits that are set in a mask such as ``0x00000800``."""
    try:
        mask = int(flipped, 16)
    except ValueError:
        return []
    return [bit for bit in range(mask.bit_length()) if mask >> bit & 1]
