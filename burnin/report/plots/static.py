"""The plot for paper: SVG whose text stays text, told apart by line styles and not by colour."""

from __future__ import annotations

import io
import warnings
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from burnin.report.plots.plot_data import Panel, PlotData
from burnin.report.plots.static_marks import (
    LINE_IN,
    draw_bands,
    draw_marks,
    name_marks,
    name_moments,
    wrapped,
)
from burnin.report.plots.thinning import thinned

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH_IN = 7.3
PANEL_IN = 0.86
FIRST_PANEL_SHARE = 1.75
NEAR_FORECAST_S = 60.0
MOST_FORECASTS = 3
PANELS = ("temperature", "power", "clocks", "link", "width")
MOST_POINTS = 900
_INK, _SOFT, _BAND = "#1c2326", "#5f6a6e", "#eef0ee"
_DASHES: dict[str, Any] = {
    "solid": "-",
    "dashed": (0, (5, 1.6)),
    "dotted": (0, (1, 1.6)),
    "dashdot": (0, (5, 1.4, 1, 1.4)),
}
_SHADES = ("#1c2326", "#5b3a6e", "#2f6f73")
_SETTINGS = {
    "svg.fonttype": "none",
    "svg.hashsalt": "burnin",
    "font.family": ["DejaVu Sans"],
    "font.size": 7.0,
    "text.parse_math": False,
    "axes.edgecolor": _SOFT,
    "axes.linewidth": 0.6,
    "xtick.color": _SOFT,
    "ytick.color": _SOFT,
    "text.color": _INK,
}


def static_plot(data: PlotData) -> str:
    """The SVG text; the same data gives the same bytes."""
    import matplotlib as mpl

    data = replace(data, panels=tuple(p for p in data.panels if p.name in PANELS))
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    with mpl.rc_context(_SETTINGS), warnings.catch_warnings():  # type: ignore[arg-type]
        # Text stays text: a glyph that is missing here is drawn by whoever shows the SVG.
        warnings.filterwarnings("ignore", message="Glyph .* missing")
        top_in = 0.5 + 0.17 * len(data.banners)
        panels_in = (len(data.panels) - 1 + FIRST_PANEL_SHARE) * PANEL_IN if data.panels else 0.1
        lines = wrapped(data.told)
        foot_in = 0.42 + LINE_IN * len(lines)
        height_in = top_in + foot_in + panels_in
        figure = Figure(figsize=(WIDTH_IN, height_in))
        FigureCanvasSVG(figure)
        _heading(figure, data, height_in)
        if data.panels:
            _panels(figure, data, top_in / height_in, foot_in / height_in)
        else:
            figure.text(0.5, 0.25, data.labels["no_samples"], ha="center", size=9)
        for place, line in enumerate(reversed(lines)):
            figure.text(0.012, (0.06 + LINE_IN * place) / height_in, line, size=6.4, va="bottom")
        out = io.StringIO()
        metadata = {"Date": None, "Creator": "burnin", "Title": data.heading}
        figure.savefig(out, format="svg", metadata=metadata)
    return "\n".join(line.rstrip() for line in out.getvalue().splitlines()) + "\n"


def _heading(figure: Figure, data: PlotData, height_in: float) -> None:
    figure.text(0.012, 1 - 0.16 / height_in, data.heading, size=8.0, weight="bold", va="center")
    for place, banner in enumerate(data.banners):
        figure.text(
            0.012,
            1 - (0.34 + 0.17 * place) / height_in,
            banner,
            size=7.0 if len(banner) < 90 else 6.2,
            weight="bold",
            va="center",
            color="white",
            bbox={"facecolor": _INK, "edgecolor": "none", "pad": 1.6},
        )


def _panels(figure: Figure, data: PlotData, top: float, bottom: float) -> None:
    # The first panel has the most limits to name.
    shares = [FIRST_PANEL_SHARE] + [1.0] * (len(data.panels) - 1)
    axes = figure.subplots(len(shares), 1, sharex=True, squeeze=False, height_ratios=shares)[:, 0]
    right = _room_for_legend(data)
    figure.subplots_adjust(left=0.1, right=right, top=1 - top, bottom=bottom, hspace=0.16)
    end_s = data.end_s if data.end_s > 0 else 1.0
    for place, (axis, panel) in enumerate(zip(axes, data.panels, strict=True)):
        _bands(axis, data, named=place == 0, end_s=end_s)
        _curves(axis, panel, data, end_s)
        draw_marks(axis, data)
        name_moments(axis, panel, data, end_s)
        axis.set_xlim(0, end_s)
        axis.margins(y=0.14)
        axis.yaxis.set_major_formatter(_figures(data.decimal))
        axis.set_ylabel(f"{panel.title}\n{panel.axis}", size=7.0)
        axis.yaxis.set_label_coords(-0.085, 0.5)
        for side in ("top", "right"):
            axis.spines[side].set_visible(False)
        axis.tick_params(length=2.5, width=0.6, labelsize=6.5)
        axis.legend(
            loc="upper left",
            bbox_to_anchor=(1.005, 1.04),
            frameon=False,
            fontsize=6.3,
            handlelength=2.6,
            labelspacing=0.25,
            borderaxespad=0.0,
        )
    name_marks(axes[0], data, end_s)
    axes[-1].set_xlabel(data.labels["time_min_s"], size=7.0)
    axes[-1].xaxis.set_major_formatter(lambda value, _: f"{int(value) // 60}:{int(value) % 60:02d}")
    axes[-1].xaxis.set_major_locator(_clock_ticks(end_s))


def _room_for_legend(data: PlotData) -> float:
    """Where the curves end on the right, as a share of the width, so that no label is cut."""
    labels = [line.name for panel in data.panels for line in panel.lines]
    labels += [f"{x.label} {x.figure}" for panel in data.panels for x in panel.limits]
    labels += [band.label for panel in data.panels for band in panel.bands]
    labels += [data.labels["guard_forecast"]] if data.trips else []
    needed_in = 0.36 + 0.052 * max(map(len, labels))
    return min(0.82, 1.0 - needed_in / WIDTH_IN)


def _figures(decimal: str) -> Callable[[float, int], str]:
    return lambda value, _: f"{value:g}".replace(".", decimal).replace("-", "\u2212")


def _clock_ticks(end_s: float) -> Any:
    from matplotlib.ticker import MultipleLocator

    steps = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 43200, 86400)
    return MultipleLocator(next((s for s in steps if end_s / s <= 10), end_s / 8))


def _bands(axis: Axes, data: PlotData, *, named: bool, end_s: float) -> None:
    inches_per_s = WIDTH_IN * 0.72 / end_s
    for place, band in enumerate(data.stages):
        start = band.started_s
        stop = band.ended_s if band.ended_s is not None else end_s
        if place % 2 == 0:
            axis.axvspan(start, stop, facecolor=_BAND, edgecolor="none", zorder=0)
        axis.axvline(start, color=_SOFT, linewidth=0.4, linestyle=_DASHES["dotted"], zorder=1)
        room_in = (stop - start) * inches_per_s
        full = band.full
        label = full if room_in > 0.062 * len(full) + 0.05 else band.number
        if named and label and room_in > 0.06 * len(label):
            axis.annotate(
                label,
                ((start + stop) / 2, 1.0),
                xycoords=("data", "axes fraction"),
                xytext=(0, 2),
                textcoords="offset points",
                ha="center",
                va="bottom",
                size=6.3,
                annotation_clip=False,
            )


def _curves(axis: Axes, panel: Panel, data: PlotData, end_s: float) -> None:
    for place, whole in enumerate(panel.lines):
        line = thinned(whole, MOST_POINTS)
        axis.plot(
            line.x_s,
            [float("nan") if value is None else value for value in line.y],
            label=line.name,
            color=_SHADES[place % len(_SHADES)],
            linestyle=_DASHES[line.dash],
            linewidth=1.0,
            drawstyle="steps-post" if line.steps else "default",
            zorder=3,
        )
    draw_bands(axis, panel)
    seen: set[tuple[str, float]] = set()
    for limit in panel.limits:
        from_s, to_s = limit.from_s or 0.0, end_s if limit.to_s is None else limit.to_s
        key = (limit.label, limit.value)
        axis.plot(
            (from_s, to_s),
            (limit.value, limit.value),
            label=None if key in seen else f"{limit.label} {limit.figure}",
            color=_INK,
            linewidth=0.7 if limit.from_s is None else 1.6,
            linestyle=_DASHES["dotted"],
            marker="|" if limit.from_s is not None else None,
            markersize=5,
            zorder=2,
        )
        seen.add(key)
    # On paper a forecast explains a stop; without one it would read as overheating.
    forecasts = panel.forecasts if data.trips else ()
    near = [f for f in forecasts if f.to_s - f.from_s <= NEAR_FORECAST_S]
    for place, forecast in enumerate(near[-MOST_FORECASTS:]):
        axis.plot(
            (forecast.from_s, forecast.to_s),
            (forecast.from_value, forecast.to_value),
            label=data.labels["guard_forecast"] if place == 0 else None,
            color=_SOFT,
            linewidth=0.8,
            linestyle=_DASHES["dashed"],
            marker="o",
            markersize=2.0,
            zorder=2,
        )
