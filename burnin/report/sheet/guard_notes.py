"""What a guard did, and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from burnin.record.journal import JournalEntry
from burnin.record.reader import Record
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.one_line import one_line
from burnin.report.languages.units import unit_of
from burnin.report.languages.values import quantity
from burnin.report.sheet.journal_details import number_at, text_at
from burnin.report.sheet.meanings import SheetReason
from burnin.report.sheet.particulars import Fact
from burnin.report.sheet.run_stages import RunStage


@dataclass(frozen=True)
class GuardNote:
    """What a guard did, and why; `opening` says what it ended."""

    opening: str
    sentence: str
    facts: tuple[Fact, ...]


def guard_notes(
    record: Record, stages: Sequence[RunStage], words: Catalogue
) -> tuple[GuardNote, ...]:
    """Each stop of a guard, also of an earlier attempt that was taken up again."""
    titles = {stage.name: stage.numbered(words) for stage in stages}
    notes = []
    for place, entry in enumerate(record.journal):
        if entry.event != "GuardTripped":
            continue
        opening = "guard_ended" if place >= record.last_start else "guard_ended_before"
        why = entry.reason() or SheetReason.GUARD_ENDED_LOAD()
        facts = _facts(entry, titles.get(_stage(entry), one_line(_stage(entry))), words)
        notes.append(
            GuardNote(words.label("sheet", opening), one_line(words.say(why), 400), facts)
        )
    return tuple(notes)


def _stage(entry: JournalEntry) -> str:
    return entry.stage or text_at(entry.detail, "stage")


def _facts(entry: JournalEntry, stage: str, words: Catalogue) -> tuple[Fact, ...]:
    detail = entry.detail
    signal = text_at(detail, "signal")
    unit = unit_of(signal)
    after = words.number(f"{entry.elapsed_s:.1f}")
    pairs = (
        ("during", stage),
        ("guard", one_line(words.word(text_at(detail, "guard")))),
        ("watched", one_line(words.reading(signal)) if signal else ""),
        ("seen", quantity(number_at(detail, "value"), unit, words)),
        ("limit", quantity(number_at(detail, "limit"), unit, words)),
        *_to_look_at(entry, words),
        ("at", words.label("sheet", "after_start").format(seconds=after)),
    )
    return tuple(Fact(words.label("sheet", name), value) for name, value in pairs if value)


def _to_look_at(entry: JournalEntry, words: Catalogue) -> tuple[tuple[str, str], ...]:
    """Suspect and check; where several causes are likely, each with its check, in order."""
    likely = entry.likely()
    if not likely:
        return (
            ("suspected", one_line(words.say(entry.cause("suspect")), 300)),
            ("to_check", one_line(words.say(entry.check("check")), 300)),
        )
    place = words.label("sheet", "look_at")
    told = (
        place.format(
            number=number,
            cause=words.say(one.cause),
            percent=f"{100.0 * one.probability:.0f}",
            check=words.say(one.check),
        )
        for number, one in enumerate(likely, start=1)
    )
    return (("to_check", one_line("  ".join(told), 900)),)
