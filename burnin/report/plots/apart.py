"""Where a record's curve lies furthest from the band of others, for some time and not at an edge.

Runs change their load a little earlier or later; what lies apart for a moment only tells nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from burnin.record.reader import Record
from burnin.report.plots.band_of_records import Band, measured

_HELD_POINTS = 8
"""So many points of the band (of about 600), one after the other, must lie apart on one side."""
_LEAST_SHARE = 0.02
"""Less than this of what the panel spans is not seen in a drawing."""


@dataclass(frozen=True)
class Apart:
    """The place: `by` above 0 where the record's own value lies above the band's `edge`."""

    at_s: float
    own: float
    edge: float

    @property
    def by(self) -> float:
        """How far, in the column's unit."""
        return self.own - self.edge


def furthest(own: Record, band: Band, column: str) -> Apart | None:
    """Where the own curve lies furthest apart for some time; None where it does nowhere."""
    moments, values = measured(own, column)
    told = dict(zip(moments, values, strict=True))
    places = [_apart(told.get(at), at, low, high) for at, low, high in zip(
        band.at_s, band.lowest, band.highest, strict=True
    )]  # fmt: skip
    best: Apart | None = None
    for start in range(len(places) - _HELD_POINTS + 1):
        window = [place for place in places[start : start + _HELD_POINTS] if place is not None]
        if len(window) < _HELD_POINTS or len({place.by > 0.0 for place in window}) > 1:
            continue
        least = min(window, key=lambda place: abs(place.by))
        if best is None or abs(least.by) > abs(best.by):
            best = least
    seen = [v for v in (*values, *band.lowest, *band.highest) if not math.isnan(v)]
    span = max(seen, default=0.0) - min(seen, default=0.0)
    return best if best is not None and abs(best.by) > _LEAST_SHARE * span else None


def _apart(own: float | None, at_s: float, low: float, high: float) -> Apart | None:
    if own is None or math.isnan(low) or low <= own <= high:
        return None
    return Apart(at_s, own, high if own > high else low)
