"""What a run did not show: each thing by name, with its reason (not measured is never a pass)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from burnin.core.reading import title_of_reading
from burnin.record.reader import SERIES_NAMES, ReadingRow, RecordData, rows, table, text
from burnin.report.figures import plain
from burnin.report.spans import Span
from burnin.report.terms import BENCH_TITLES
from burnin.report.titles import title_of

_WHOLE_STAGE = ("not measured", "incomplete")
THE_STAGE = "stage"
"""Name of the reading that says why a whole stage was not carried out."""
_NOT_SENSORS = ("load_share", "load_w")


@dataclass(frozen=True)
class Gap:
    """Things that share one reason."""

    what: str
    reason: str


@dataclass(frozen=True)
class GapGroup:
    """Gaps of one sort."""

    title: str
    gaps: tuple[Gap, ...]


def gap_groups(record: RecordData, stages: tuple[Span, ...]) -> tuple[GapGroup, ...]:
    """Every gap of a record, most pressing sort first; sorts without gaps are left out."""
    whole = {span.name for span in stages if span.verdict in _WHOLE_STAGE}
    open_ones = [
        r
        for r in record.readings
        if not _is_owed(record, r) and not (r.name == THE_STAGE and r.stage in whole)
    ]
    missing = [r for r in open_ones if r.verdict == "not measured"]
    unsure = [r for r in open_ones if r.verdict == "unsure"]
    number_of = {span.name: span.number for span in stages}
    groups = (
        GapGroup("Owed: somebody must still do this", _owed(record, stages)),
        GapGroup("Checks that did not run or did not finish", _stages(record, stages)),
        GapGroup(
            "Measured, but too near the limit to say",
            _by_reason(((r, r.reason) for r in unsure), number_of),
        ),
        GapGroup(
            "Could not be measured",
            _by_reason(((r, r.reason) for r in missing if r.required), number_of),
        ),
        GapGroup(
            "Could not be measured, and this profile does not insist on it",
            _by_reason(((r, r.reason) for r in missing if not r.required), number_of),
        ),
        GapGroup("What the card does not tell", _silent(record)),
    )
    return tuple(group for group in groups if group.gaps)


def not_measured_reason(value: object) -> str | None:
    """The reason in run.json's ``{"not_measured": reason}``, None for any other value."""
    if isinstance(value, dict) and "not_measured" in value:
        reason = value["not_measured"]
        return plain(reason, 300) if isinstance(reason, str) and reason else "no reason given"
    return None


def _owed(record: RecordData, stages: tuple[Span, ...]) -> tuple[Gap, ...]:
    titles = {span.name: span.title for span in stages}
    found = []
    for item in rows(record.facts, "owed"):
        stage = plain(text(item, "stage"), 60)
        title = titles.get(stage, "")
        what = _in_plain_words(record, item, title) or title or "a check"
        reason = plain(text(item, "reason"), 400) or "no reason given"
        found.append((what, reason))
    return _joined(found)


def _is_owed(record: RecordData, reading: ReadingRow) -> bool:
    """Whether the list of what is owed names this reading (``Title: reading``) already."""
    return any(
        text(item, "stage") == reading.stage
        and text(item, "what").endswith(tuple(f": {name}" for name in _names(reading)))
        for item in rows(record.facts, "owed")
    )


def _names(reading: ReadingRow) -> tuple[str, str]:
    """How a list of what is owed may call a reading."""
    return reading.name, title_of_reading(reading.name)


def _in_plain_words(record: RecordData, item: Mapping[str, object], title: str) -> str:
    """What is owed, with the sheet's titles of stage and reading in place of the bench's."""
    what = text(item, "what")
    own = (reading for reading in record.readings if reading.stage == text(item, "stage"))
    for reading in own:
        for name in _names(reading):
            if what.endswith(f": {name}"):
                shown = title_of(reading.name, unit=True)
                return plain(f"{title or what.removesuffix(f': {name}')}: {shown}", 160)
    return title if title and what.lower() in BENCH_TITLES else plain(what, 160)


def _stages(record: RecordData, stages: tuple[Span, ...]) -> tuple[Gap, ...]:
    """Whole stages that are missing, but for those that the list of what is owed names."""
    own_title = {text(row, "stage"): text(row, "title") for row in rows(record.facts, "stages")}
    owed = {
        text(item, "stage")
        for item in rows(record.facts, "owed")
        if text(item, "what") == own_title.get(text(item, "stage"))
    }
    return _joined(
        (f"{span.number} {span.title}".strip(), span.reason or "no reason given")
        for span in stages
        if span.verdict in _WHOLE_STAGE and span.name not in owed
    )


def _joined(pairs: Iterable[tuple[str, str]]) -> tuple[Gap, ...]:
    """Things that share a reason on one line, each named once."""
    found: dict[str, dict[str, None]] = {}
    for what, reason in pairs:
        found.setdefault(reason, {})[what] = None
    return tuple(Gap("; ".join(named), reason) for reason, named in found.items())


def _by_reason(
    readings: Iterable[tuple[ReadingRow, str]], number_of: Mapping[str, str]
) -> tuple[Gap, ...]:
    """Readings that share a reason on one line, each with the numbers of its stages."""
    found: dict[str, dict[str, list[str]]] = {}
    for reading, given in readings:
        reason = plain(given, 400) or "no reason given"
        title = plain(title_of(reading.name, unit=True), 100)
        numbers = found.setdefault(reason, {}).setdefault(title, [])
        place = number_of.get(reading.stage, "")
        if place and place not in numbers:
            numbers.append(place)
    return tuple(
        Gap(", ".join(_placed(title, places) for title, places in titles.items()), reason)
        for reason, titles in found.items()
    )


def _placed(title: str, places: list[str]) -> str:
    return f"{title} [{', '.join(places)}]" if places else title


def _silent(record: RecordData) -> tuple[Gap, ...]:
    """Facts of the card, and sensors, that gave nothing; those judged as readings are elsewhere."""
    judged = {r.name for r in record.readings if r.verdict == "not measured"}
    found: dict[str, list[str]] = {}
    for name, value in table(record.facts, "card").items():
        reason = not_measured_reason(value)
        if reason is not None and name not in judged:
            found.setdefault(reason, []).append(plain(title_of(name), 100))
    if record.telemetry.elapsed_s:
        for name in SERIES_NAMES:
            column = record.telemetry.columns[name]
            if name in _NOT_SENSORS or name in judged or any(v is not None for v in column):
                continue
            found.setdefault("no value in any sample of this run", []).append(
                title_of(name, unit=True)
            )
    return tuple(Gap(", ".join(names), reason) for reason, names in found.items())
