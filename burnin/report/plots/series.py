"""What the plots of a record show: one structure that the static and the interactive plot draw."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from burnin.record.reader import Record
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.one_line import one_line
from burnin.report.languages.units import unit_of
from burnin.report.plots.limit_lines import forecast_lines, guard_limits, stage_limits
from burnin.report.plots.marks import bands_of, warnings_of
from burnin.report.plots.moments import moments_of
from burnin.report.plots.plot_data import (
    ForecastLine,
    LimitLine,
    Line,
    Panel,
    PlotData,
    StageBand,
    TripMark,
)
from burnin.report.sheet.marks import outcome
from burnin.report.sheet.meanings import SheetReason
from burnin.report.sheet.printed_verdict import banners, printed_verdict
from burnin.report.sheet.run_stages import RunStage, run_stages


@dataclass(frozen=True)
class Curve:
    """A telemetry column and how it is drawn; its name is that of the column in [curves]."""

    column: str
    dash: str


@dataclass(frozen=True)
class PanelPlan:
    """Columns that share an axis; `steps`: they change in steps."""

    name: str
    curves: tuple[Curve, ...]
    steps: bool = False


PANELS = (
    PanelPlan(
        "temperature",
        (
            Curve("gpu_temp_c", "solid"),
            Curve("hotspot_temp_c", "dashed"),
            Curve("memory_temp_c", "dashdot"),
        ),
    ),
    PanelPlan("power", (Curve("power_w", "solid"), Curve("load_w", "dotted"))),
    PanelPlan("clocks", (Curve("core_clock_mhz", "solid"), Curve("memory_clock_mhz", "dashed"))),
    PanelPlan("link", (Curve("link_speed_gts", "solid"),), steps=True),
    PanelPlan("width", (Curve("link_width_lanes", "solid"),), steps=True),
    PanelPlan("fan", (Curve("fan_rpm", "solid"),)),
)
_COLUMNS = {plan.name: tuple(curve.column for curve in plan.curves) for plan in PANELS}


def plot_data(record: Record, words: Catalogue) -> PlotData:
    """What the plots of a record show; panels without a single value are left out."""
    stages = run_stages(record)
    verdict, _ = printed_verdict(record, stages)
    trips = tuple(_trips(record, words))
    panels = (_panel(record, stages, plan, words) for plan in PANELS)
    ends = [
        *record.series.elapsed_s[-1:],
        *(stage.ended_s for stage in stages if stage.ended_s is not None),
        *(trip.at_s for trip in trips),
    ]
    card = record.run.card
    named = card.name if card and isinstance(card.name, str) else ""
    word = outcome(verdict, words, simulated=record.run.is_simulated).word
    parts = (word, one_line(named, 60), one_line(record.run.run_id, 60))
    return PlotData(
        language=words.language,
        labels={name: str(text) for name, text in words.group("plots").items()},
        decimal=words.number("."),
        heading=" · ".join(part for part in parts if part),
        banners=tuple(words.say(banner) for banner in banners(record)),
        panels=tuple(panel for panel in panels if panel is not None),
        stages=tuple(
            StageBand(stage.number, stage.title(words), stage.started_s, stage.ended_s)
            for stage in stages
            if stage.started_s is not None
        ),
        trips=trips,
        end_s=max(ends, default=0.0),
        warnings=warnings_of(record, words),
        moments=moments_of(record, stages, _COLUMNS, words),
    )


def _trips(record: Record, words: Catalogue) -> list[TripMark]:
    return [
        TripMark(
            entry.elapsed_s,
            words.number(f"{entry.elapsed_s:.1f}"),
            one_line(words.say(entry.reason() or SheetReason.GUARD_ENDED_LOAD()), 200),
        )
        for entry in record.events("GuardTripped")
    ]


def _panel(
    record: Record, stages: Sequence[RunStage], plan: PanelPlan, words: Catalogue
) -> Panel | None:
    series = record.series
    present = [c for c in plan.curves if any(v is not None for v in series.columns[c.column])]
    if not present:
        return None
    lines: list[Line] = []
    limits: list[LimitLine] = []
    forecasts: list[ForecastLine] = []
    for curve in present:
        column, name = curve.column, words.label("curves", curve.column)
        unit = words.unit(unit_of(column))
        y = series.columns[column]
        lines.append(Line(name, unit, curve.dash, series.elapsed_s, y, plan.steps))
        limits += guard_limits(record, column, name, words)
        limits += stage_limits(record, stages, column, name, words)
        forecasts += forecast_lines(record, column, words)
    bands = bands_of(record, words) if plan.name == "temperature" else ()
    return Panel(
        plan.name,
        words.label("plots", f"{plan.name}_title"),
        words.label("plots", f"{plan.name}_axis"),
        tuple(lines),
        tuple(dict.fromkeys(limits)),
        () if bands else tuple(sorted(forecasts, key=lambda forecast: forecast.from_s)),
        bands,
    )
