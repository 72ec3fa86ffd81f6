"""What a run did not show: each thing by name, with its reason (not measured is never a pass)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields

from burnin.core.meaning import Meaning, Term
from burnin.core.reading import NotMeasured, Reading, Verdict
from burnin.core.sample import FAN_NAMES
from burnin.core.verdict import OwedWhat
from burnin.record.reader import Record
from burnin.record.readings import THE_STAGE
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.one_line import one_line
from burnin.report.sheet.meanings import OpenSort, SheetReason, UntestedTerm
from burnin.report.sheet.never_tested import never_tested
from burnin.report.sheet.run_stages import WHOLE_STAGE, RunStage

_NOT_SENSORS = ("load_share", "load_w")


@dataclass(frozen=True)
class OpenPoint:
    """Things that share one reason."""

    what: str
    reason: str


@dataclass(frozen=True)
class OpenGroup:
    """Open points of one sort."""

    title: str
    points: tuple[OpenPoint, ...]


def open_groups(
    record: Record, stages: Sequence[RunStage], words: Catalogue
) -> tuple[OpenGroup, ...]:
    """Every open point of a record, most pressing sort first; sorts without any are left out."""
    whole = {stage.name for stage in stages if stage.verdict in WHOLE_STAGE}
    owed = {(o.stage, o.what["reading"]) for o in record.run.owed if o.what.means(OwedWhat.READING)}
    open_ones = [
        r
        for r in record.readings
        if (r.stage, r.name) not in owed and not (r.name == THE_STAGE and r.stage in whole)
    ]
    missing = [r for r in open_ones if r.verdict is Verdict.NOT_MEASURED]
    unsure = [r for r in open_ones if r.verdict is Verdict.UNSURE]
    number_of = {stage.name: stage.number for stage in stages}
    sorts: tuple[tuple[Term, tuple[OpenPoint, ...]], ...] = (
        (OpenSort.OWED(), _owed(record, words)),
        (OpenSort.STAGES(), _stages(record, stages, words)),
        (OpenSort.TOO_NEAR(), _by_reason(unsure, number_of, words)),
        (
            OpenSort.NOT_MEASURED(),
            _by_reason([r for r in missing if r.required], number_of, words),
        ),
        (
            OpenSort.NOT_INSISTED(),
            _by_reason([r for r in missing if not r.required], number_of, words),
        ),
        (OpenSort.SILENT(), _silent(record, words)),
        (OpenSort.NO_STAGE(), _no_stage(record, words)),
    )
    return tuple(OpenGroup(words.say(sort), points) for sort, points in sorts if points)


def _no_stage(record: Record, words: Catalogue) -> tuple[OpenPoint, ...]:
    """What no stage works, on one line: a sheet of a pass must not be read as one of these."""
    what = "; ".join(words.say(part) for part in never_tested(record))
    return (OpenPoint(what, words.say(UntestedTerm.WHY())),)


def owed_title(what: Meaning, words: Catalogue) -> str:
    """What is owed, with the unit of a reading in brackets."""
    if what.means(OwedWhat.READING):
        stage = what["stage"]
        told = words.say(stage) if isinstance(stage, Meaning) else words.stage("", str(stage))
        return f"{told}: {words.reading(str(what['reading']), unit=True)}"
    return words.say(what)


def _owed(record: Record, words: Catalogue) -> tuple[OpenPoint, ...]:
    return _joined(
        (one_line(owed_title(item.what, words), 160), _told(item.reason, words))
        for item in record.run.owed
    )


def _stages(
    record: Record, stages: Sequence[RunStage], words: Catalogue
) -> tuple[OpenPoint, ...]:
    """Whole stages that are missing, but for those that the list of what is owed names."""
    owed = {item.stage for item in record.run.owed if item.what.means(OwedWhat.STAGE)}
    return _joined(
        (stage.numbered(words), _all_told(stage.reasons, words))
        for stage in stages
        if stage.verdict in WHOLE_STAGE and stage.name not in owed
    )


def _told(reason: Meaning | None, words: Catalogue) -> str:
    return one_line(words.say(reason or SheetReason.NONE_GIVEN()), 400)


def _all_told(reasons: Sequence[Meaning], words: Catalogue) -> str:
    return one_line(words.says(reasons or (SheetReason.NONE_GIVEN(),)), 400)


def _joined(pairs: Iterable[tuple[str, str]]) -> tuple[OpenPoint, ...]:
    """Things that share a reason on one line, each named once."""
    found: dict[str, dict[str, None]] = {}
    for what, reason in pairs:
        found.setdefault(reason, {})[what] = None
    return tuple(OpenPoint("; ".join(named), reason) for reason, named in found.items())


def _by_reason(
    readings: Iterable[Reading], number_of: Mapping[str, str], words: Catalogue
) -> tuple[OpenPoint, ...]:
    """Readings that share a reason on one line, each with the numbers of its stages."""
    found: dict[str, dict[str, list[str]]] = {}
    for reading in readings:
        title = one_line(words.reading(reading.name, unit=True), 100)
        numbers = found.setdefault(_told(reading.reason, words), {}).setdefault(title, [])
        place = number_of.get(reading.stage, "")
        if place and place not in numbers:
            numbers.append(place)
    return tuple(
        OpenPoint(", ".join(_placed(title, places) for title, places in titles.items()), reason)
        for reason, titles in found.items()
    )


def _placed(title: str, places: list[str]) -> str:
    return f"{title} [{', '.join(places)}]" if places else title


def _silent(record: Record, words: Catalogue) -> tuple[OpenPoint, ...]:
    """Facts of the card, and sensors, that gave nothing; those judged as readings are elsewhere."""
    judged = {r.name for r in record.readings if r.verdict is Verdict.NOT_MEASURED}
    found: dict[str, list[str]] = {}
    card = record.run.card
    for name in (field.name for field in fields(card)) if card else ():
        value = getattr(card, name)
        if isinstance(value, NotMeasured) and name not in judged:
            found.setdefault(_told(value.reason, words), []).append(words.reading(name))
    if record.series.elapsed_s:
        none = words.say(SheetReason.NO_VALUE_IN_SAMPLES())
        passed_over = {*_NOT_SENSORS, *judged, *_uncounted_fans(record)}
        for name, column in record.series.columns.items():
            if name in passed_over or any(v is not None for v in column):
                continue
            found.setdefault(none, []).append(words.reading(name, unit=True))
    return tuple(OpenPoint(", ".join(names), reason) for reason, names in found.items())


def _uncounted_fans(record: Record) -> Iterator[str]:
    """Columns of further fans that the card does not count: nobody misses them."""
    told = (r.value for r in record.all_readings if r.name == "fan_count")
    counted = max((int(v) for v in told if isinstance(v, int | float)), default=1)
    for columns in FAN_NAMES[max(counted, 1) :]:
        yield from columns
