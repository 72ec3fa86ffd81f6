"""What the plots show: one structure that the static and the interactive plot both draw."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace

from burnin.record.reader import RecordData, number, table, text
from burnin.report.figures import plain
from burnin.report.outcome import banners, judge_record
from burnin.report.spans import Span, spans
from burnin.report.titles import TITLES, unit_of, without_unit

MOST_FORECASTS = 5
LONGEST_FORECAST_S = 120.0
_NOT_ABSOLUTE = re.compile(r"delta|rise|rate|drift|diff|margin|steady")


@dataclass(frozen=True)
class Line:
    """One curve. `dash` is solid, dashed, dotted or dashdot: curves differ without colour."""

    name: str
    unit: str
    dash: str
    x_s: tuple[float, ...]
    y: tuple[float | None, ...]
    steps: bool = False


@dataclass(frozen=True)
class LimitLine:
    """A limit that held from `from_s` to `to_s` (None: the whole run)."""

    label: str
    value: float
    from_s: float | None = None
    to_s: float | None = None


@dataclass(frozen=True)
class ForecastLine:
    """A guard's expectation: from the value at `from_s` to the limit at `to_s`."""

    text: str
    from_s: float
    from_value: float
    to_s: float
    to_value: float


@dataclass(frozen=True)
class Panel:
    """Curves that share an axis, with their limits and forecasts."""

    title: str
    axis: str
    lines: tuple[Line, ...]
    limits: tuple[LimitLine, ...] = ()
    forecasts: tuple[ForecastLine, ...] = ()


@dataclass(frozen=True)
class TripMark:
    """The moment at which a guard ended the load, in seconds since the run's start."""

    at_s: float
    text: str


@dataclass(frozen=True)
class PlotData:
    """Everything that a plot of a run shows. Times in seconds since the run's start."""

    heading: str
    banners: tuple[str, ...]
    panels: tuple[Panel, ...]
    stages: tuple[Span, ...]
    trips: tuple[TripMark, ...]
    end_s: float


_PANELS: tuple[tuple[str, str, tuple[tuple[str, str, str], ...]], ...] = (
    (
        "Temperature",
        "°C",
        (
            ("gpu_temp_c", "GPU", "solid"),
            ("hotspot_temp_c", "hot spot", "dashed"),
            ("memory_temp_c", "memory", "dashdot"),
        ),
    ),
    ("Power", "W", (("power_w", "drawn", "solid"), ("load_w", "asked for", "dotted"))),
    (
        "Clocks",
        "MHz",
        (("core_clock_mhz", "core", "solid"), ("memory_clock_mhz", "memory", "dashed")),
    ),
    (
        "Link",
        "GT/s, lanes",
        (("link_speed_gts", "speed", "solid"), ("link_width_lanes", "width", "dashed")),
    ),
    ("Fan", "rpm", (("fan_rpm", "fan", "solid"),)),
)


def plot_data(record: RecordData) -> PlotData:
    """What the plots of a record show; panels without a single value are left out."""
    stages = spans(record)
    _verdict, outcome, _ = judge_record(record, stages)
    trips = tuple(
        TripMark(row.elapsed_s, plain(text(row.detail, "reason"), 200) or "a guard ended the load")
        for row in record.events("GuardTripped")
    )
    panels = (_panel(record, stages, title, axis, lines) for title, axis, lines in _PANELS)
    ends = [
        *record.telemetry.elapsed_s[-1:],
        *(span.ended_s for span in stages if span.ended_s is not None),
        *(trip.at_s for trip in trips),
    ]
    card = plain(text(table(record.facts, "card"), "name"), 60)
    heading = [outcome.word, card, plain(text(record.facts, "run_id"), 60)]
    return PlotData(
        heading=" · ".join(part for part in heading if part),
        banners=banners(record),
        panels=tuple(panel for panel in panels if panel is not None),
        stages=tuple(span for span in stages if span.started_s is not None),
        trips=trips,
        end_s=max(ends, default=0.0),
    )


def thinned(line: Line, most: int) -> Line:
    """The same curve in about `most` points at most: lowest and highest of every bucket stay."""
    count = len(line.x_s)
    if count <= most:
        return line
    buckets = max(1, most // 2)
    kept: set[int] = {0, count - 1}
    for bucket in range(buckets):
        indices = range(bucket * count // buckets, (bucket + 1) * count // buckets)
        measured = [i for i in indices if line.y[i] is not None]
        if not measured:
            kept.add(indices[0])
            continue
        kept.add(min(measured, key=lambda i: line.y[i] or 0.0))
        kept.add(max(measured, key=lambda i: line.y[i] or 0.0))
    order = sorted(kept)
    return replace(line, x_s=tuple(line.x_s[i] for i in order), y=tuple(line.y[i] for i in order))


def _panel(
    record: RecordData,
    stages: tuple[Span, ...],
    title: str,
    axis: str,
    curves: tuple[tuple[str, str, str], ...],
) -> Panel | None:
    telemetry = record.telemetry
    present = [curve for curve in curves if any(v is not None for v in telemetry.columns[curve[0]])]
    if not present:
        return None
    lines = tuple(
        Line(name, unit_of(key), dash, telemetry.elapsed_s, telemetry.columns[key], title == "Link")
        for key, name, dash in present
    )
    limits: list[LimitLine] = []
    forecasts: list[ForecastLine] = []
    for key, name, _ in present:
        limits += _guard_limits(record, key, name)
        limits += _stage_limits(record, stages, key, name)
        forecasts += _forecasts(record, key)
    in_order = tuple(sorted(forecasts, key=lambda forecast: forecast.from_s))
    return Panel(title, axis, lines, tuple(dict.fromkeys(limits)), in_order)


def _guard_limits(record: RecordData, key: str, name: str) -> list[LimitLine]:
    """Limits of the guards on one column, out of run.json, else out of the trip itself."""
    found = []
    for guard, given in table(record.facts, "guards").items():
        limit = number(given)
        if limit is None or "limit" not in guard or not _speaks_of(guard, key):
            continue
        found.append(LimitLine(f"{name} guard", limit))
    if found:
        return found
    trips = (row for row in record.events("GuardTripped") if text(row.detail, "signal") == key)
    limits = (number(row.detail.get("limit")) for row in trips)
    return [LimitLine(f"{name} guard", limit) for limit in limits if limit is not None]


def _stage_limits(
    record: RecordData, stages: tuple[Span, ...], key: str, name: str
) -> list[LimitLine]:
    """Limits that readings of this column had, each over its stage."""
    span_of = {span.name: span for span in stages}
    found = []
    for row in record.readings:
        span = span_of.get(row.stage)
        if span is None or span.started_s is None or not _speaks_of(row.name, key):
            continue
        for value, side in ((row.lower, "least"), (row.upper, "most")):
            if value is not None and not (side == "most" and row.lower == row.upper):
                found.append(LimitLine(f"{name}, at {side}", value, span.started_s, span.ended_s))
    return found


def _speaks_of(name: str, column: str) -> bool:
    """Whether a limit's or reading's name is about the values of a telemetry column."""
    same_unit = unit_of(name) == unit_of(column) and unit_of(column) != ""
    return same_unit and name.startswith(without_unit(column)) and not _NOT_ABSOLUTE.search(name)


def _forecasts(record: RecordData, key: str) -> list[ForecastLine]:
    """A few forecasts of one column: the most pressing of each part of the time they cover."""
    found: list[tuple[float, float, float, str]] = []
    for row in record.events("ForecastMade"):
        ahead, limit = number(row.detail.get("crossing_in_s")), number(row.detail.get("limit"))
        if text(row.detail, "signal") != key or ahead is None or limit is None:
            continue
        if 0.0 <= ahead <= LONGEST_FORECAST_S:
            found.append((row.elapsed_s, ahead, limit, text(row.detail, "text")))
    if not found:
        return []
    first = min(moment for moment, *_ in found)
    part_s = (max(moment for moment, *_ in found) - first) / MOST_FORECASTS
    pressing: dict[int, tuple[float, float, float, str]] = {}
    for item in found:
        part = min(MOST_FORECASTS - 1, int((item[0] - first) / part_s)) if part_s > 0.0 else 0
        if part not in pressing or item[1] <= pressing[part][1]:
            pressing[part] = item
    telemetry = record.telemetry
    lines = []
    for moment, ahead, limit, given in (pressing[part] for part in sorted(pressing)):
        now = _value_at(telemetry.elapsed_s, telemetry.columns[key], moment)
        if now is not None:
            words = plain(given, 200) or f"{TITLES[key]} reaches {limit:g} in {ahead:.1f} s"
            lines.append(ForecastLine(words, moment, now, moment + ahead, limit))
    return lines


def _value_at(
    moments: Sequence[float], values: Sequence[float | None], when_s: float
) -> float | None:
    """The last value that was read at or before a moment."""
    for place in range(bisect_right(moments, when_s) - 1, -1, -1):
        if (value := values[place]) is not None:
            return value
    return None
