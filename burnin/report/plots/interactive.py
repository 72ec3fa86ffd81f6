"""The plot for the screen: one file that needs nothing else, with a value under every point."""

from __future__ import annotations

import html
import json
from importlib.resources import files
from typing import Any

from burnin.report.plots.interactive_marks import (
    band_traces,
    moment_labels,
    warning_labels,
    warning_shapes,
)
from burnin.report.plots.line_names import MARGIN_PX, line_names, value_range
from burnin.report.plots.plot_data import LimitLine, Line, Panel, PlotData
from burnin.report.plots.thinning import thinned

MOST_POINTS = 2400
"""Of a curve: lowest and highest of every bucket, some more than a wide screen has columns."""
LIBRARY = files("burnin.report.templates") / "plotly-basic.min.js"
_COLOURS = ("#3d86a8", "#b9742c", "#8467b0")
_GREY = "#858585"
_DASHES = {"solid": "solid", "dashed": "dash", "dotted": "dot", "dashdot": "dashdot"}
_GAP = 0.022
PANEL_PX = 190

Json = dict[str, Any]


def interactive_plot(data: PlotData) -> str:
    """The page's HTML text, self-contained (1.2 MB of it are the plotting library)."""
    from burnin.report.templates import environment

    return (
        environment()
        .get_template("plots.html.j2")
        .render(
            data=data,
            figure=_for_script(figure(data)),
            library=plotting_library(),
            height_px=78 + PANEL_PX * max(1, len(data.panels)),
        )
    )


def plotting_library() -> str:
    """The library's script: its bundle of lines and bars, a quarter of the whole (MIT licence)."""
    return LIBRARY.read_text(encoding="utf-8")


def figure(data: PlotData) -> Json:
    """Traces and layout for the plotting library, as plain data."""
    count = max(1, len(data.panels))
    traces: list[Json] = []
    layout: Json = {
        "paper_bgcolor": "rgba(0,0,0,0)",
        "plot_bgcolor": "rgba(0,0,0,0)",
        "separators": f"{data.decimal} ",
        "margin": {"l": 62, "r": MARGIN_PX, "t": 34, "b": 44},
        "hovermode": "x unified",
        "hoversubplots": "axis",
        "showlegend": False,
        "xaxis": {
            "title": {"text": html.escape(data.labels["time_s"])},
            "range": [0, data.end_s or 1.0],
            "anchor": "y" if count == 1 else f"y{count}",
            "gridcolor": "rgba(133,133,133,.22)",
            "zeroline": False,
        },
        "shapes": _bands(data) + warning_shapes(data) + _trips(data),
        "annotations": _labels(data),
    }
    share = (1.0 - _GAP * (count - 1)) / count
    for place, panel in enumerate(data.panels):
        axis = "y" if place == 0 else f"y{place + 1}"
        top = 1.0 - place * (share + _GAP)
        layout["yaxis" + axis[1:]] = {
            "title": {"text": html.escape(f"{panel.title} ({panel.axis})")},
            "domain": [max(0.0, top - share), top],
            "range": list(value_range(panel)),
            "gridcolor": "rgba(133,133,133,.22)",
            "zeroline": False,
        }
        traces += _traces(panel, axis, data)
        layout["annotations"] += line_names(panel, axis, PANEL_PX, _COLOURS)
        layout["annotations"] += moment_labels(data, panel, axis)
    return {"data": traces, "layout": layout}


def _traces(panel: Panel, axis: str, data: PlotData) -> list[Json]:
    found = [
        _curve(panel, line, axis, _COLOURS[place % len(_COLOURS)])
        for place, line in enumerate(panel.lines)
    ]
    found = [trace for band in panel.bands for trace in band_traces(band, axis)] + found
    found += [_limit(panel, limit, axis, data.end_s) for limit in panel.limits]
    for forecast in panel.forecasts:
        found.append(
            {
                "type": "scatter",
                "mode": "lines+markers",
                "x": [forecast.from_s, forecast.to_s],
                "y": [forecast.from_value, forecast.to_value],
                "yaxis": axis,
                "name": html.escape(data.labels["guard_forecast"]),
                "line": {"color": _GREY, "width": 1.2, "dash": "dash"},
                "marker": {"size": 5},
                "hovertemplate": f"{html.escape(forecast.text)}<extra></extra>",
            }
        )
    return found


def _curve(panel: Panel, whole: Line, axis: str, colour: str) -> Json:
    line = thinned(whole, MOST_POINTS)
    name = html.escape(f"{panel.title}: {line.name}")
    return {
        "type": "scatter",
        "mode": "lines",
        "x": [round(x, 2) for x in line.x_s],
        "y": [None if y is None else float(f"{y:.5g}") for y in line.y],
        "yaxis": axis,
        "name": name,
        "line": {
            "color": colour,
            "width": 1.8,
            "dash": _DASHES[line.dash],
            "shape": "hv" if line.steps else "linear",
        },
        "connectgaps": False,
        "hovertemplate": f"%{{y:.6~g}} {line.unit}",
    }


def _limit(panel: Panel, limit: LimitLine, axis: str, end_s: float) -> Json:
    label = html.escape(f"{panel.title}: {limit.label} {limit.figure}")
    return {
        "type": "scatter",
        "mode": "lines",
        "x": [limit.from_s or 0.0, end_s if limit.to_s is None else limit.to_s],
        "y": [limit.value, limit.value],
        "yaxis": axis,
        "name": label,
        "line": {"color": _GREY, "width": 1.4 if limit.from_s is None else 3, "dash": "dot"},
        "hovertemplate": f"{label}<extra></extra>",
    }


def _bands(data: PlotData) -> list[Json]:
    return [
        {
            "type": "rect",
            "xref": "x",
            "yref": "paper",
            "x0": band.started_s,
            "x1": data.end_s if band.ended_s is None else band.ended_s,
            "y0": 0,
            "y1": 1,
            "fillcolor": "rgba(133,133,133,.13)" if place % 2 == 0 else "rgba(0,0,0,0)",
            "line": {"width": 0},
            "layer": "below",
        }
        for place, band in enumerate(data.stages)
    ]


def _trips(data: PlotData) -> list[Json]:
    return [
        {
            "type": "line",
            "xref": "x",
            "yref": "paper",
            "x0": trip.at_s,
            "x1": trip.at_s,
            "y0": 0,
            "y1": 1,
            "line": {"color": "#b03a3a", "width": 2.5},
        }
        for trip in data.trips
    ]


def _labels(data: PlotData) -> list[Json]:
    labels: list[Json] = []
    last = float("-inf")
    for band in data.stages:
        stop = data.end_s if band.ended_s is None else band.ended_s
        start = band.started_s
        share = (stop - start) / data.end_s if data.end_s else 0.0
        full = html.escape(band.full)
        if data.end_s and (start + stop) / 2 - last < 0.015 * data.end_s:
            continue
        last = (start + stop) / 2
        labels.append(
            {
                "xref": "x",
                "yref": "paper",
                "x": (start + stop) / 2,
                "y": 1,
                "yanchor": "bottom",
                "text": full if share > 0.009 * len(full) else html.escape(band.number),
                "hovertext": full,
                "showarrow": False,
                "font": {"size": 11},
            }
        )
    labels += warning_labels(data)
    for trip in data.trips:
        late = data.end_s > 0 and trip.at_s > data.end_s * 0.6
        labels.append(
            {
                "xref": "x",
                "yref": "paper",
                "x": trip.at_s,
                "y": 0.02,
                "xanchor": "right" if late else "left",
                "yanchor": "bottom",
                "text": f"<b>{html.escape(data.labels['stopped'])}</b>",
                "hovertext": html.escape(trip.text),
                "showarrow": False,
                "bgcolor": "#b03a3a",
                "borderpad": 3,
                "font": {"size": 12, "color": "#ffffff"},
            }
        )
    return labels


def _for_script(value: Json) -> str:
    """JSON that may stand inside a script element: nothing in it can close that element."""
    text = json.dumps(value, allow_nan=False, ensure_ascii=True, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")
