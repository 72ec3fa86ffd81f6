"""Every value that was measured, as lines of a table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from burnin.core.reading import Reading, Verdict
from burnin.record.reader import Record
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.one_line import one_line
from burnin.report.languages.values import is_told_by_reason, limit_text, value_text
from burnin.report.sheet.marks import Mark, reading_mark
from burnin.report.sheet.run_stages import RunStage

_KEY_WORDS = (
    "temp",
    "hotspot",
    "power",
    "link_",
    "failing",
    "changed",
    "thermal",
    "cooling",
    "block",
    "error",
    "tested",
)
"""A reading whose name holds one of these goes first onto a page that is short of room."""
_MINOR = ("failing_words ", "screen_lost_times", "preferred_mode", "power_held_w step")


@dataclass(frozen=True)
class ReadingLine:
    """One measured value, ready to print; `rank` 0 must be shown, higher may be left out.

    `rule`: what judged it, empty where nothing did or nobody told.
    """

    stage: str
    title: str
    value: str
    limit: str
    mark: Mark
    reason: str
    rank: int
    rule: str = ""


def reading_lines(
    record: Record, stages: Sequence[RunStage], words: Catalogue
) -> tuple[ReadingLine, ...]:
    """Every value that was measured: what failed or is unsure first, then in order of the run."""
    place = {stage.name: stage.number for stage in stages}
    lines = [
        ReadingLine(
            stage=place.get(reading.stage, one_line(reading.stage, 40)),
            title=one_line(words.reading(reading.name), 100),
            value="" if is_told_by_reason(reading) else value_text(reading, words),
            limit=limit_text(reading, words),
            mark=reading_mark(reading.verdict, words),
            reason=_reason(reading, words),
            rank=_rank(reading),
            rule=one_line(words.say(reading.rule), 300),
        )
        for reading in record.readings
        if reading.verdict is not Verdict.NOT_MEASURED
    ]
    return tuple(sorted(lines, key=lambda line: line.rank > 0))


def is_key(name: str) -> bool:
    """Whether a reading goes first onto a page that is short of room.

    The sum of all failing words does; how many of them each pattern found does not. So does the
    top power, but not the steps to it.
    """
    if name.startswith(_MINOR):
        return False
    return any(word in name.lower() for word in _KEY_WORDS)


def _reason(reading: Reading, words: Catalogue) -> str:
    return "" if reading.verdict is Verdict.PASS else one_line(words.say(reading.reason), 300)


def _rank(reading: Reading) -> int:
    if reading.verdict in (Verdict.FAIL, Verdict.UNSURE):
        return 0
    rank = 3 if reading.verdict is None else 2
    return rank - 1 if is_key(reading.name) else rank
