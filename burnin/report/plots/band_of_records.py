"""The band that several records' curves lie in, laid stage by stage over the time of one record.

Stages take their own time in each run; so each sample of the others is told by how long after the
start of its stage it was taken.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from burnin.record.reader import Record

_MOST_POINTS = 600
_LEAST_RECORDS = 2


@dataclass(frozen=True)
class Band:
    """Lowest and highest value of all records, by this record's time; NaN where too few tell."""

    at_s: tuple[float, ...]
    lowest: tuple[float, ...]
    highest: tuple[float, ...]


_Course = tuple[list[float], list[float]]


def measured(record: Record, column: str) -> _Course:
    """Moments and values of a column where it has any."""
    series = record.series
    pairs = [
        (moment, value)
        for moment, value in zip(series.elapsed_s, series.columns[column], strict=True)
        if value is not None
    ]
    return [moment for moment, _ in pairs], [value for _, value in pairs]


def band_of(
    own: Record, others: Sequence[Record], column: str, least: int = _LEAST_RECORDS
) -> Band | None:
    """The band of a column; None where fewer than `least` of the others tell anything."""
    courses = [_courses(other, column) for other in others]
    begun = _starts(own)
    step = max(1, len(own.series.elapsed_s) // _MOST_POINTS)
    at, lowest, highest = [], [], []
    for place in range(0, len(own.series.elapsed_s), step):
        moment, stage = own.series.elapsed_s[place], own.series.stages[place]
        after_s = moment - begun.get(stage, 0.0)
        values = [v for one in courses if (v := _at(one.get(stage), after_s)) is not None]
        enough = len(values) >= least
        at.append(moment)
        lowest.append(min(values) if enough else math.nan)
        highest.append(max(values) if enough else math.nan)
    if all(math.isnan(value) for value in lowest):
        return None
    return Band(tuple(at), tuple(lowest), tuple(highest))


def _starts(record: Record) -> Mapping[str, float]:
    found: dict[str, float] = {}
    for moment, stage in zip(record.series.elapsed_s, record.series.stages, strict=True):
        found.setdefault(stage, moment)
    return found


def _courses(record: Record, column: str) -> Mapping[str, _Course]:
    """Each stage's values by the time since its first sample."""
    begun = _starts(record)
    found: dict[str, _Course] = {}
    series = record.series
    rows = zip(series.elapsed_s, series.stages, series.columns[column], strict=True)
    for moment, stage, value in rows:
        if value is not None:
            moments, values = found.setdefault(stage, ([], []))
            moments.append(moment - begun[stage])
            values.append(value)
    return found


def _at(course: _Course | None, after_s: float) -> float | None:
    """The last value until then; None before the first and after the last."""
    if course is None:
        return None
    moments, values = course
    place = bisect_left(moments, after_s)
    if place == len(moments):
        return values[-1] if moments and after_s - moments[-1] < 1.0 else None
    return values[place]
