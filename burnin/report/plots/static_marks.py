"""Bands, warnings and stops for the plot on paper, and the lines that stand below it."""

from __future__ import annotations

from textwrap import wrap
from typing import TYPE_CHECKING

from burnin.report.plots.plot_data import Panel, PlotData

if TYPE_CHECKING:
    from matplotlib.axes import Axes

LINE_IN, LINE_SIGNS = 0.125, 128
"""Height of a line below the drawing, and how many signs it holds."""
_LABEL_SHARE, _HEIGHTS, _HALF = 0.4, (0.35, 0.6, 0.1, 0.8), 0.06
"""How much of the time a moment's words may cover, where they may stand, half of their height."""
_INK, _SOFT, _FORESEEN = "#1c2326", "#5f6a6e", "#c3cdd0"


def wrapped(told: tuple[str, ...]) -> list[str]:
    """Lines that fit below the drawing."""
    return [part for line in told for part in wrap(line, LINE_SIGNS, subsequent_indent="    ")]


def draw_bands(axis: Axes, panel: Panel) -> None:
    """What was foreseen: filled around what came, hatched ahead of a warning or stop."""
    named: set[str] = set()
    for band in panel.bands:
        axis.fill_between(
            band.x_s,
            band.low,
            band.high,
            label=None if band.label in named else band.label,
            facecolor="none" if band.ahead else _FORESEEN,
            edgecolor=_SOFT if band.ahead else "none",
            hatch="////" if band.ahead else None,
            linewidth=0.4,
            zorder=1.5,
        )
        named.add(band.label)


def _height(place: int) -> float:
    """Where a warning's words stand, as a share of the panel: side by side ones not alike."""
    return 0.2 + 0.14 * (place % 5)


def draw_marks(axis: Axes, data: PlotData) -> None:
    """A line where a guard ended the load, a thinner one where a warning was given."""
    for trip in data.trips:
        axis.axvline(trip.at_s, color=_INK, linewidth=1.6, zorder=4)
    for warning in data.warnings:
        axis.axvline(warning.at_s, color=_INK, linewidth=0.8, linestyle=(0, (5, 1.4, 1, 1.4)))


def name_marks(axis: Axes, data: PlotData, end_s: float) -> None:
    """The words at the marks; several warnings are numbered."""
    if data.trips:
        _label(axis, data.labels["stopped"], data.trips[0].at_s, end_s, 0.05)
    for place, warning in enumerate(data.warnings):
        told = f"{data.labels['warning']} {place + 1}" if len(data.warnings) > 1 else ""
        _label(axis, told or data.labels["warning"], warning.at_s, end_s, _height(place))


def name_moments(axis: Axes, panel: Panel, data: PlotData, end_s: float) -> None:
    """What broke in this panel, at its moment."""
    for moment in data.moments:
        if moment.panel == panel.name:
            axis.axvline(moment.at_s, color=_INK, linewidth=1.2, zorder=4)
            _label(axis, moment.text, moment.at_s, end_s, _beside(axis, panel, moment.at_s, end_s))


def _beside(axis: Axes, panel: Panel, at_s: float, end_s: float) -> float:
    """Height of a moment's words, as a share of the panel: where they cover no line, if any is."""
    reach_s = _LABEL_SHARE * end_s
    from_s, to_s = (at_s - reach_s, at_s) if _is_late(at_s, end_s) else (at_s, at_s + reach_s)
    low, high = axis.get_ylim()
    passed = {
        (value - low) / (high - low)
        for line in panel.lines
        for x_s, value in zip(line.x_s, line.y, strict=True)
        if value is not None and from_s <= x_s <= to_s
    } | {(limit.value - low) / (high - low) for limit in panel.limits}
    return max(
        _HEIGHTS,
        key=lambda height: min((abs(height + _HALF - one) for one in passed), default=0.0),
    )


def _is_late(at_s: float, end_s: float) -> bool:
    return at_s > end_s * 0.6


def _label(axis: Axes, label: str, at_s: float, end_s: float, height: float) -> None:
    late = _is_late(at_s, end_s)
    axis.annotate(
        label,
        (at_s, height),
        xycoords=("data", "axes fraction"),
        xytext=(-4 if late else 4, 0),
        textcoords="offset points",
        ha="right" if late else "left",
        va="bottom",
        size=6.8,
        weight="bold",
        bbox={"facecolor": "white", "edgecolor": _INK, "linewidth": 0.7, "pad": 1.8},
        zorder=6,
    )
