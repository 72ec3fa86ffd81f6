"""Bands and warnings for the plot to look into, as plain data of the plotting library."""

from __future__ import annotations

import html
from typing import Any

from burnin.report.plots.plot_data import Band, Panel, PlotData

Json = dict[str, Any]

_BAND, _EDGE, _WARNING = "rgba(133,133,133,.3)", "#858585", "#b9742c"


def band_traces(band: Band, axis: str) -> list[Json]:
    """Two edges, the room between them filled."""
    shared: Json = {
        "type": "scatter",
        "mode": "lines",
        "x": band.x_s,
        "yaxis": axis,
        "line": {"width": 1 if band.ahead else 0, "color": _EDGE, "dash": "solid"},
        "hovertemplate": "%{y:.1f} °C",
        "name": html.escape(band.label),
    }
    filled = {"fill": "tonexty", "fillcolor": _BAND}
    return [
        {**shared, "y": band.low},
        {**shared, "y": band.high, **filled},
    ]


def warning_shapes(data: PlotData) -> list[Json]:
    """From when a warning was given until it was over."""
    return [
        {
            "type": "rect",
            "xref": "x",
            "yref": "paper",
            "x0": warning.at_s,
            "x1": data.end_s if warning.over_s is None else warning.over_s,
            "y0": 0,
            "y1": 1,
            "fillcolor": "rgba(185,116,44,.10)",
            "line": {"width": 1, "color": _WARNING, "dash": "dashdot"},
            "layer": "below",
        }
        for warning in data.warnings
    ]


def warning_labels(data: PlotData) -> list[Json]:
    """The word at its place; all of it when pointed at."""
    return [
        {
            "xref": "x",
            "yref": "paper",
            "x": warning.at_s,
            "y": 0.1 + 0.05 * (place % 5),
            "xanchor": "left",
            "yanchor": "bottom",
            "text": html.escape(data.labels["warning"]),
            "hovertext": html.escape(warning.text),
            "showarrow": False,
            "bgcolor": _WARNING,
            "borderpad": 2,
            "font": {"size": 11, "color": "#ffffff"},
        }
        for place, warning in enumerate(data.warnings)
    ]


def moment_labels(data: PlotData, panel: Panel, axis: str) -> list[Json]:
    """What broke in this panel, in words with an arrow to the moment."""
    return [
        {
            "xref": "x",
            "x": moment.at_s,
            "yref": f"{axis} domain",
            "y": 0.5,
            "ax": -46 if moment.at_s > data.end_s * 0.5 else 46,
            "ay": 0,
            "xanchor": "right" if moment.at_s > data.end_s * 0.5 else "left",
            "text": f"<b>{html.escape(moment.text)}</b>",
            "showarrow": True,
            "arrowhead": 2,
            "arrowcolor": "#b03a3a",
            "bgcolor": "#b03a3a",
            "borderpad": 3,
            "font": {"size": 12, "color": "#ffffff"},
        }
        for moment in data.moments
        if moment.panel == panel.name
    ]
