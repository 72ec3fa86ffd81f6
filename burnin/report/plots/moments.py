"""The moments that decided a verdict, in few words at their place."""

from __future__ import annotations

from collections.abc import Iterator

from burnin.core.reading import Verdict
from burnin.record.reader import Record
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.one_line import one_line
from burnin.report.plots.meanings import PlotNote
from burnin.report.plots.plot_data import Moment
from burnin.stages.whole_run.meanings import WholeRunReason

_NOTES = {
    WholeRunReason.WIDTH_FELL: ("width", PlotNote.WIDTH_FELL),
    WholeRunReason.SPEED_FELL: ("link", PlotNote.SPEED_FELL),
    WholeRunReason.GONE: ("link", PlotNote.GONE),
    WholeRunReason.SLOWED: ("clocks", PlotNote.SLOWED),
    WholeRunReason.CLOCK_FELL: ("clocks", PlotNote.CLOCK_FELL),
}
"""By reason of the closing part: the panel, and what is written there."""


def moments_of(record: Record, words: Catalogue) -> tuple[Moment, ...]:
    """What broke and when, in order of time; a moment is told once."""
    found = {(moment.panel, moment.at_s): moment for moment in _moments(record, words)}
    return tuple(sorted(found.values(), key=lambda moment: moment.at_s))


def _moments(record: Record, words: Catalogue) -> Iterator[Moment]:
    for reading in record.all_readings:
        if reading.verdict not in (Verdict.FAIL, Verdict.UNSURE) or reading.reason is None:
            continue
        for part in reading.reason.parts():
            for code, (panel, note) in _NOTES.items():
                if part.means(code):
                    data = {name: part[name] for name in note.fields}
                    at_s = data["at_s"]
                    assert isinstance(at_s, int | float)
                    text = one_line(words.say(note(**data)), 120)
                    yield Moment(float(at_s), panel, text)
