"""The moments that decided a verdict, in few words at their place."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from burnin.core.reading import Limit, Reading, Verdict
from burnin.record.reader import Record
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.one_line import one_line
from burnin.report.languages.values import limit_text, value_text
from burnin.report.plots.limit_lines import speaks_of
from burnin.report.plots.meanings import PlotNote
from burnin.report.plots.plot_data import Moment
from burnin.report.sheet.run_stages import RunStage
from burnin.stages.whole_run.meanings import WholeRunReason

_NOTES = {
    WholeRunReason.WIDTH_FELL: ("width", PlotNote.WIDTH_FELL),
    WholeRunReason.SPEED_FELL: ("link", PlotNote.SPEED_FELL),
    WholeRunReason.GONE: ("link", PlotNote.GONE),
    WholeRunReason.SLOWED: ("clocks", PlotNote.SLOWED),
    WholeRunReason.CLOCK_FELL: ("clocks", PlotNote.CLOCK_FELL),
}
"""By reason of the closing part: the panel, and what is written there."""


def moments_of(
    record: Record,
    stages: Sequence[RunStage],
    columns: Mapping[str, Sequence[str]],
    words: Catalogue,
) -> tuple[Moment, ...]:
    """What broke and when, in order of time; a moment is told once.

    `columns`: the telemetry columns of each panel. Where the whole run tells of a panel, its stages
    do not again.
    """
    found = {(moment.panel, moment.at_s): moment for moment in _moments(record, words)}
    told = {panel for panel, _ in found}
    for panel, names in columns.items():
        if panel not in told:
            for moment in _of_stages(record, stages, panel, names, words):
                found.setdefault((panel, moment.at_s), moment)
    return tuple(sorted(found.values(), key=lambda moment: moment.at_s))


def _of_stages(
    record: Record,
    stages: Sequence[RunStage],
    panel: str,
    columns: Sequence[str],
    words: Catalogue,
) -> Iterator[Moment]:
    """Failed readings of stages, where the curve left what was allowed; of a stage the first."""
    stage_of, told = {stage.name: stage for stage in stages}, set[str]()
    for reading in record.readings:
        stage, limit = stage_of.get(reading.stage), reading.limit
        if reading.verdict is not Verdict.FAIL or stage is None or limit is None:
            continue
        column = next((name for name in columns if speaks_of(reading.name, name)), None)
        if column is None or reading.stage in told or stage.started_s is None:
            continue
        told.add(reading.stage)
        at_s = _left_at(record, column, limit, stage.started_s, stage.ended_s)
        yield Moment(at_s, panel, _worded(reading, at_s, words))


def _worded(reading: Reading, at_s: float, words: Catalogue) -> str:
    value, allowed = value_text(reading, words), limit_text(reading, words)
    return one_line(words.say(PlotNote.OUTSIDE(value=value, allowed=allowed, at_s=at_s)), 120)


def _left_at(
    record: Record, column: str, limit: Limit, from_s: float, to_s: float | None
) -> float:
    """When the curve left its limit in that time; its beginning where it was never within."""
    was_within = False
    for at_s, value in zip(record.series.elapsed_s, record.series.columns[column], strict=True):
        if value is None or at_s < from_s:
            continue
        if to_s is not None and at_s > to_s:
            break
        low, high = limit.lower, limit.upper
        within = (low is None or value >= low) and (high is None or value <= high)
        if was_within and not within:
            return at_s
        was_within = within
    return from_s


def _moments(record: Record, words: Catalogue) -> Iterator[Moment]:
    for reading in record.all_readings:
        if reading.verdict not in (Verdict.FAIL, Verdict.UNSURE) or reading.reason is None:
            continue
        for part in reading.reason.parts():
            for code, (panel, note) in _NOTES.items():
                if part.means(code):
                    data = {name: part[name] for name in note.fields}
                    at_s = data["at_s"]
                    if isinstance(at_s, int | float) and math.isfinite(at_s):
                        text = one_line(words.say(note(**data)), 120)
                        yield Moment(float(at_s), panel, text)
