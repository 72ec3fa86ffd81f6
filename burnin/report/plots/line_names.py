"""Names beside the curves and limits of a plot, where the eye is, in place of a legend."""

from __future__ import annotations

import html
from typing import Any

from burnin.report.plots.plot_data import Panel

Json = dict[str, Any]

NAME_PX = 14
"""Height of a name: names that would lie closer are moved apart."""
MARGIN_PX = 190
_PAD = 0.08


def value_range(panel: Panel) -> tuple[float, float]:
    """Lowest and highest value that a panel has to show, with some room."""
    values = [y for line in panel.lines for y in line.y if y is not None]
    values += [limit.value for limit in panel.limits]
    values += [v for f in panel.forecasts for v in (f.from_value, f.to_value)]
    values += [v for band in panel.bands for v in (*band.low, *band.high)]
    low, high = min(values, default=0.0), max(values, default=1.0)
    if any(line.steps for line in panel.lines):
        low = min(0.0, low)  # of lanes and speed, how much is left counts from nought
    pad = _PAD * ((high - low) or abs(high) or 1.0)
    return low - pad, high + pad


def apart(wanted: list[float], least: float, top: float) -> list[float]:
    """Heights as near to the wanted ones as they can be, `least` apart, none above `top`."""
    order = sorted(range(len(wanted)), key=wanted.__getitem__)
    found = list(wanted)
    before = float("-inf")
    for place in order:
        found[place] = before = max(found[place], before + least)
    above = top
    for place in reversed(order):
        found[place] = above = min(found[place], above)
        above -= least
    return found


def line_names(panel: Panel, axis: str, height_px: float, colours: tuple[str, ...]) -> list[Json]:
    """An annotation beside the right end of each curve and of each limit."""
    low, high = value_range(panel)
    named: dict[str, tuple[float, str]] = {}
    for place, line in enumerate(panel.lines):
        last = next((y for y in reversed(line.y) if y is not None), None)
        if last is not None:
            named[line.name] = (last, colours[place % len(colours)])
    for limit in panel.limits:
        named.setdefault(f"{limit.label} {limit.figure}", (limit.value, ""))
    for band in panel.bands:
        named.setdefault(band.label, (band.high[-1], ""))
    least = (high - low) * NAME_PX / height_px
    heights = apart([value for value, _ in named.values()], least, high)
    return [
        {
            "xref": "paper",
            "x": 1.0,
            "xanchor": "left",
            "xshift": 6,
            "yref": axis,
            "y": height,
            "yanchor": "middle",
            "text": html.escape(name),
            "showarrow": False,
            "align": "left",
            "font": {"size": 11, **({"color": colour} if colour else {})},
        }
        for (name, (_, colour)), height in zip(named.items(), heights, strict=True)
    ]
