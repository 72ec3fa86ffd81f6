"""Limits of one telemetry column, and a guard's forecasts of it, as lines of a plot."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable, Sequence

from burnin.record.journal import JournalEntry
from burnin.record.reader import Record
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.numbers import figure
from burnin.report.languages.one_line import one_line
from burnin.report.languages.units import unit_of, without_unit
from burnin.report.plots.plot_data import ForecastLine, LimitLine
from burnin.report.sheet.journal_details import number_at, text_at
from burnin.report.sheet.run_stages import RunStage

MOST_FORECASTS = 5
LONGEST_FORECAST_S = 120.0
_NOT_ABSOLUTE = re.compile(r"delta|rise|rate|drift|diff|margin|steady")


def guard_limits(record: Record, column: str, name: str, words: Catalogue) -> list[LimitLine]:
    """Limits of the guards on one column, out of run.json, else out of the stop itself.

    `name` is the curve's in the plot.
    """
    guards = record.run.guards
    found = [
        limit
        for guard in guards
        if "limit" in guard
        and speaks_of(guard, column)
        and (limit := number_at(guards, guard)) is not None
    ]
    if not found:
        trips = (e.detail for e in record.events("GuardTripped"))
        own = (d for d in trips if text_at(d, "signal") == column)
        found = [limit for d in own if (limit := number_at(d, "limit")) is not None]
    label = words.label("plots", "guard_limit").format(name=name)
    return [LimitLine(label, limit, words.number(figure(limit))) for limit in found]


def stage_limits(
    record: Record, stages: Sequence[RunStage], column: str, name: str, words: Catalogue
) -> list[LimitLine]:
    """Limits that readings of this column had, each over its stage."""
    stage_of = {stage.name: stage for stage in stages}
    found = []
    for reading in record.readings:
        stage, limit = stage_of.get(reading.stage), reading.limit
        if stage is None or stage.started_s is None or limit is None:
            continue
        if not speaks_of(reading.name, column):
            continue
        exact = limit.lower == limit.upper
        sides = ((limit.lower, "at_least"), (None if exact else limit.upper, "at_most"))
        for value, side in sides:
            if value is not None:
                label = words.label("plots", side).format(name=name)
                told = words.number(figure(value))
                found.append(LimitLine(label, value, told, stage.started_s, stage.ended_s))
    return found


def forecast_lines(record: Record, column: str, words: Catalogue) -> list[ForecastLine]:
    """A few forecasts of one column: the most pressing of each part of the time they cover."""
    lines = []
    for entry, ahead, limit in _pressing(_forecasts(record, column)):
        now = value_at(record.series.elapsed_s, record.series.columns[column], entry.elapsed_s)
        if now is None:
            continue
        told = words.say(entry.note("forecast")) or words.label("plots", "forecast").format(
            title=words.reading(column),
            limit=words.number(figure(limit)),
            seconds=words.number(f"{ahead:.1f}"),
        )
        at = entry.elapsed_s
        lines.append(ForecastLine(one_line(told, 200), at, now, at + ahead, limit))
    return lines


Forecast = tuple[JournalEntry, float, float]
"""A line of the journal, seconds until the crossing, and the limit that is crossed."""


def _forecasts(record: Record, column: str) -> Iterable[Forecast]:
    for entry in record.events("ForecastMade"):
        detail = entry.detail
        ahead, limit = number_at(detail, "crossing_in_s"), number_at(detail, "limit")
        if text_at(detail, "signal") != column or ahead is None or limit is None:
            continue
        if 0.0 <= ahead <= LONGEST_FORECAST_S:
            yield entry, ahead, limit


def _pressing(forecasts: Iterable[Forecast]) -> list[Forecast]:
    found = list(forecasts)
    if not found:
        return []
    moments = [entry.elapsed_s for entry, *_ in found]
    first = min(moments)
    part_s = (max(moments) - first) / MOST_FORECASTS
    pressing: dict[int, Forecast] = {}
    for forecast in found:
        since_s = forecast[0].elapsed_s - first
        part = min(MOST_FORECASTS - 1, int(since_s / part_s)) if part_s > 0.0 else 0
        if part not in pressing or forecast[1] <= pressing[part][1]:
            pressing[part] = forecast
    return [pressing[part] for part in sorted(pressing)]


def speaks_of(name: str, column: str) -> bool:
    """Whether a limit's or reading's name is about the values of a telemetry column."""
    same_unit = unit_of(name) == unit_of(column) and unit_of(column) != ""
    return same_unit and name.startswith(without_unit(column)) and not _NOT_ABSOLUTE.search(name)


def value_at(
    moments: Sequence[float], values: Sequence[float | None], when_s: float
) -> float | None:
    """The last value that was read at or before a moment."""
    for place in range(bisect_right(moments, when_s) - 1, -1, -1):
        if (value := values[place]) is not None:
            return value
    return None
