"""What `replay --plot` draws: readings before their guards, with bands, warnings and stops."""

from __future__ import annotations

from pathlib import Path

from burnin.core.errors import BadInput
from burnin.core.reading import known
from burnin.core.sample import Sample
from burnin.replay.course import Course
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.numbers import figure
from burnin.report.languages.one_line import one_line
from burnin.report.languages.units import unit_of
from burnin.report.plots.interactive import interactive_plot
from burnin.report.plots.marks import BEHIND_S, foreseen_before, foreseen_from, warning_marks
from burnin.report.plots.plot_data import Band, LimitLine, Line, Panel, PlotData, TripMark
from burnin.report.plots.static import static_plot
from burnin.report.refusals import ReportRefusal

_PANELS = (
    ("temperature", (("gpu_temp_c", "solid"), ("hotspot_temp_c", "dashed"))),
    ("power", (("power_w", "solid"),)),
)
_LONGEST_GAP_S = 3.0
"""A forecast is made every 2 s at least; further apart they are not joined."""


def draw_course(
    course: Course, target: Path, words: Catalogue, banners: tuple[str, ...] = ()
) -> None:
    """Write the drawing; its form is told by the name's end. Raises BadInput, OSError."""
    forms = {".html": interactive_plot, ".svg": static_plot}
    draw = forms.get(target.suffix.lower())
    if draw is None:
        raise BadInput(ReportRefusal.PLOT_NAME(file=str(target)))
    target.write_text(draw(course_data(course, words, banners)), encoding="utf-8")


def course_data(course: Course, words: Catalogue, banners: tuple[str, ...] = ()) -> PlotData:
    """The drawing's content."""
    given = ((at, type(e).__name__, getattr(e, "warning", None)) for at, e in course.warnings)
    warnings = warning_marks(given, words)
    trips = tuple(
        TripMark(
            stop.time_s,
            words.number(f"{stop.time_s:.1f}"),
            one_line(words.say(stop.trip.reason), 200),
        )
        for stop in course.stops
    )
    panels = (_panel(course, name, curves, words) for name, curves in _PANELS)
    labels = {name: str(text) for name, text in words.group("plots").items()}
    labels |= {"hint": labels["hint_of_replay"], "shows": labels["shows_of_replay"]}
    ends = [s.elapsed_s for s in course.samples[-1:]]
    ends += [band.x_s[-1] for band in _bands(course, words)]
    said = [(w.at_s, labels["warning_told"].format(seconds=w.at, text=w.text)) for w in warnings]
    said += [(t.at_s, labels["stop_told"].format(seconds=t.at, text=t.text)) for t in trips]
    said += [
        (stop.time_s, f"{number}. {words.say(one.cause)} ({100 * one.probability:.0f} %):"
         f" {words.say(one.check)}")
        for stop in course.stops
        for number, one in enumerate(stop.trip.likely, start=1)
    ]  # fmt: skip
    return PlotData(
        language=words.language,
        labels=labels,
        decimal=words.number("."),
        heading=one_line(Path(course.name).name or course.name, 80),
        banners=banners,
        panels=tuple(panel for panel in panels if panel is not None),
        stages=(),
        trips=trips,
        end_s=max(ends, default=0.0),
        warnings=warnings,
        told=tuple(text for _, text in sorted(said, key=lambda one: one[0])),
    )


def _panel(
    course: Course, name: str, curves: tuple[tuple[str, str], ...], words: Catalogue
) -> Panel | None:
    lines, limits = [], []
    for column, dash in curves:
        values = tuple(known(getattr(s.telemetry, column)) for s in course.samples)
        if all(value is None for value in values):
            continue
        title, times = words.label("curves", column), _times(course.samples)
        lines.append(Line(title, words.unit(unit_of(column)), dash, times, values))
        limit_c = course.limits_c.get(column)
        if limit_c is not None:
            label = words.label("plots", "limit_of").format(name=title)
            limits.append(LimitLine(label, limit_c, words.number(figure(limit_c))))
    if not lines:
        return None
    bands = _bands(course, words) if name == "temperature" else ()
    title, axis = words.label("plots", f"{name}_title"), words.label("plots", f"{name}_axis")
    return Panel(name, title, axis, tuple(lines), tuple(limits), bands=bands)


def _times(samples: tuple[Sample, ...]) -> tuple[float, ...]:
    return tuple(sample.elapsed_s for sample in samples)


def _bands(course: Course, words: Catalogue) -> tuple[Band, ...]:
    near = [(at_s, f) for at_s, f in course.came if abs(f.ahead_s - BEHIND_S) < 1.0]
    around = foreseen_before(near, _LONGEST_GAP_S, words.label("plots", "foreseen"))
    reads = {s.elapsed_s: known(s.telemetry.gpu_temp_c) for s in course.samples}
    limit_c = course.limits_c.get("gpu_temp_c")
    label = words.label("plots", "foreseen_ahead")
    ahead = (
        foreseen_from(at_s, value_c, foreseen, limit_c, label)
        for at_s, foreseen in course.ahead
        if (value_c := reads.get(at_s)) is not None
    )
    return tuple(band for band in (*around, *ahead) if band is not None)
