"""What a plot shows of forecasts: bands around what came, and warnings at their place."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from burnin.core.events import WarningGiven, WarningOver
from burnin.core.foreseen import Foreseen
from burnin.core.meaning import Note
from burnin.record.reader import Record
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.one_line import one_line
from burnin.report.plots.limit_lines import value_at
from burnin.report.plots.plot_data import Band, WarningMark

BEHIND_S = 10.0
"""Of all bands, the one that is drawn around the readings: foreseen so many seconds before."""
LONGEST_GAP_S = 7.0
"""On a record a forecast lies every 5 s; further apart they are not joined."""
STAYS = 0.6
"""A load that draws no more than this share of what it drew has ended."""
OVER_LIMIT_K = 10.0
"""A band ahead is drawn no further above the limit: what is past it is foreseen for nobody."""


def foreseen_before(
    points: Iterable[tuple[float, Foreseen]], longest_gap_s: float, label: str
) -> tuple[Band, ...]:
    """What had been foreseen for each moment; a band ends where the next is too far off."""
    parts: list[list[tuple[float, Foreseen]]] = []
    for at_s, foreseen in points:
        if not parts or at_s - parts[-1][-1][0] > longest_gap_s:
            parts.append([])
        parts[-1].append((at_s, foreseen))
    return tuple(
        Band(
            label,
            tuple(at_s for at_s, _ in part),
            tuple(foreseen.low_c for _, foreseen in part),
            tuple(foreseen.high_c for _, foreseen in part),
        )
        for part in parts
        if len(part) > 1
    )


def foreseen_from(
    at_s: float, value_c: float, ahead: Sequence[Foreseen], limit_c: float | None, label: str
) -> Band | None:
    """The band ahead of a moment: where the load would have led."""
    x_s, low, high = [at_s], [value_c], [value_c]
    most_c = math.inf if limit_c is None else limit_c + OVER_LIMIT_K
    for foreseen in ahead:
        x_s.append(at_s + foreseen.ahead_s)
        low.append(min(foreseen.low_c, most_c))
        high.append(min(foreseen.high_c, most_c))
        if foreseen.low_c >= most_c:
            break
    return Band(label, tuple(x_s), tuple(low), tuple(high), ahead=True) if ahead else None


def warning_marks(
    events: Iterable[tuple[float, str, Note | None]], words: Catalogue
) -> tuple[WarningMark, ...]:
    """Warnings from (moment, class of event, note), in order of time."""
    marks: list[WarningMark] = []
    for at_s, name, note in events:
        if name == WarningGiven.__name__ and note is not None:
            at = words.number(f"{at_s:.1f}")
            marks.append(WarningMark(at_s, None, at, one_line(words.say(note), 200)))
        elif name == WarningOver.__name__ and marks and marks[-1].over_s is None:
            last = marks.pop()
            marks.append(WarningMark(last.at_s, at_s, last.at, last.text))
    return tuple(marks)


def warnings_of(record: Record, words: Catalogue) -> tuple[WarningMark, ...]:
    """The warnings on a record."""
    told = ((e.elapsed_s, e.event, e.note("warning")) for e in record.journal)
    return warning_marks(told, words)


def bands_of(record: Record, words: Catalogue) -> tuple[Band, ...]:
    """What a record's forecasts had foreseen, while the load went on; none in an older record."""
    made = [(e.elapsed_s, e.foreseen()) for e in record.events("ForecastMade")]
    points = [
        (at_s + one.ahead_s, one)
        for at_s, band in made
        for one in band
        if abs(one.ahead_s - BEHIND_S) < 1.0 and _goes_on(record, at_s, at_s + one.ahead_s)
    ]
    points.sort(key=lambda point: point[0])
    return foreseen_before(points, LONGEST_GAP_S, words.label("plots", "foreseen"))


def _goes_on(record: Record, from_s: float, to_s: float) -> bool:
    """Whether the load of one moment is there at another still: else nothing foreseen came."""
    moments, power_w = record.series.elapsed_s, record.series.columns["power_w"]
    then, later = value_at(moments, power_w, from_s), value_at(moments, power_w, to_s)
    ends_s = moments[-1] if moments else 0.0
    return then is not None and later is not None and to_s <= ends_s and later > STAYS * then
