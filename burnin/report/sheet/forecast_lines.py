"""What was foreseen in a run: warnings, and how good forecasts were; no verdict stands on it."""

from __future__ import annotations

from burnin.core.events import ForecastsJudged, WarningGiven, WarningOver
from burnin.record.reader import Record
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.one_line import one_line

_MOST_WARNINGS = 20


def forecast_lines(record: Record, words: Catalogue) -> tuple[str, ...]:
    """How good the forecasts of each part of the run were."""
    found = record.events(ForecastsJudged.__name__)
    return tuple(one_line(words.say(note), 200) for e in found for note in e.notes("notes"))


def warning_lines(record: Record, words: Catalogue) -> tuple[str, ...]:
    """Warnings that were given, and when they were over, in order of time."""
    keys = {WarningGiven.__name__: "warning", WarningOver.__name__: "why"}
    told = []
    for entry in record.journal:
        note = entry.note(keys[entry.event]) if entry.event in keys else None
        if note is not None:
            at = words.label("sheet", "after_start").format(
                seconds=words.number(f"{entry.elapsed_s:.1f}")
            )
            told.append(f"{at}: {one_line(words.say(note), 300)}")
    return tuple(told[:_MOST_WARNINGS])
