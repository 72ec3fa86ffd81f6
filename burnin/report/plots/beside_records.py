"""A record's curves over those of others: known-good ones as a band, one named as a dashed line."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from burnin.core.errors import RecordError
from burnin.core.system import cannot_write
from burnin.record.reader import Record
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.one_line import one_line
from burnin.report.languages.units import unit_of
from burnin.report.languages.values import quantity
from burnin.report.plots.apart import Apart, furthest
from burnin.report.plots.band_of_records import Band, band_of, measured
from burnin.report.plots.series import PANELS
from burnin.report.sheet.printed_verdict import banners

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_COLUMNS = (
    "gpu_temp_c", "hotspot_temp_c", "power_w", "fan_rpm", "link_speed_gts", "link_width_lanes",
)  # fmt: skip
_STEPS = frozenset(c.column for panel in PANELS if panel.steps for c in panel.curves)
_INK, _SOFT, _BAND = "#1c2326", "#5f6a6e", "#c9d2ce"
_WORDS_OF_BAND = "as_band", "above_band", "below_band"
_WORDS_OF_OTHER = "as_other", "above_other", "below_other"
_STYLES = ("--", ":", "-.")
_SETTINGS = {
    "svg.fonttype": "none",
    "svg.hashsalt": "pair",
    "font.size": 8.0,
    "hatch.linewidth": 0.4,
}


def write_beside(
    own: Record, others: Sequence[Record], known_good: Sequence[Record], words: Catalogue, to: Path
) -> None:
    """Write the drawing as SVG; raises RecordError where it cannot be written."""
    try:
        to.parent.mkdir(exist_ok=True)
        to.write_text(beside_svg(own, others, known_good, words), encoding="utf-8")
    except OSError as error:
        raise RecordError(cannot_write(to, error)) from None


def usual_place(own: Record, others: Sequence[Record], *, in_ticket: bool) -> Path:
    """Beside the record's folder, or where that is a ticket's, in a folder beside the ticket's.

    What lies in a record or a ticket is listed and signed.
    """
    beside = others[0].folder.name if len(others) == 1 else "others"
    place = own.folder.absolute().parent
    place = place.parent / "compared" if in_ticket else place
    return place / f"{own.folder.name}-beside-{beside}.svg"


def beside_svg(
    own: Record, others: Sequence[Record], known_good: Sequence[Record], words: Catalogue
) -> str:
    """The drawing as SVG text, told apart in black and white too.

    Above each panel stands what is measured and, in words, how far this record lies apart; a double
    arrow shows where. The first panel names the curves at their place.
    """
    import matplotlib as mpl
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    columns = [c for c in _COLUMNS if any(v is not None for v in own.series.columns[c])]
    with mpl.rc_context(_SETTINGS | {"text.parse_math": False}):  # type: ignore[arg-type]
        figure = Figure(figsize=(7.4, 1.2 + 1.5 * max(1, len(columns))), layout="constrained")
        FigureCanvasSVG(figure)
        panels = figure.subplots(max(1, len(columns)), 1, sharex=True, squeeze=False)[:, 0]
        for place, (axis, column) in enumerate(zip(panels, columns, strict=False)):
            _panel(axis, column, own, others, known_good, words, names_curves=place == 0)
        handles, labels = panels[0].get_legend_handles_labels()
        figure.legend(handles, labels, loc="outside lower center", ncols=1, frameon=False)
        panels[-1].set_xlabel(words.label("plots", "time_s"))
        told = [words.say(banner) for record in (own, *others) for banner in banners(record)]
        if told:
            figure.suptitle("  ·  ".join(dict.fromkeys(told)), fontsize=8.0, fontweight="bold")
        out = io.StringIO()
        figure.savefig(out, format="svg", metadata={"Date": None})
    return out.getvalue()


def _panel(
    axis: Axes,
    column: str,
    own: Record,
    others: Sequence[Record],
    known_good: Sequence[Record],
    words: Catalogue,
    *,
    names_curves: bool,
) -> None:
    drawn = "steps-post" if column in _STEPS else "default"
    band = band_of(own, known_good, column) if len(known_good) > 1 else None
    if band is not None:
        _draw_band(axis, band, len(known_good), words)
    for place, other in enumerate(others[: len(_STYLES)]):
        moments, values = measured(other, column)
        axis.plot(
            moments, values, _STYLES[place], color=_SOFT, linewidth=1.4, drawstyle=drawn,
            label=_name(other, words),
        )  # fmt: skip
    moments, values = measured(own, column)
    label = words.label("plots", "this_record").format(name=_name(own, words))
    axis.plot(moments, values, "-", color=_INK, linewidth=1.6, drawstyle=drawn, label=label)
    axis.set_title(_title(column, words), loc="left", fontsize=8.0, fontweight="bold")
    axis.grid(visible=True, color="#dfe2de", linewidth=0.5)
    low, high = axis.get_ylim()
    if high - low < 1.0:
        axis.set_ylim(low - 0.5, high + 0.5)
    axis.yaxis.set_major_formatter(
        lambda value, _: words.number(f"{value:g}".replace("-", "\u2212"))
    )
    reference = band
    if reference is None and others:
        reference = band_of(own, others[:1], column, least=1)
    if reference is not None:
        apart = furthest(own, reference, column)
        _tell_apart(axis, apart, column, words, of_band=band is not None)
        if names_curves:
            _name_curves(axis, own, reference, column, words, of_band=band is not None)


def _title(column: str, words: Catalogue) -> str:
    """What is measured, and its unit: ``Temperature: hot spot (°C)``."""
    panel = next(p.name for p in PANELS if any(c.column == column for c in p.curves))
    curve, unit = words.label("curves", column), words.unit(unit_of(column))
    title = words.label("plots", f"{panel}_title")
    named = f"{title}: {curve}" if panel in ("temperature", "power") else title
    return f"{named} ({unit})"


def _tell_apart(
    axis: Axes, apart: Apart | None, column: str, words: Catalogue, *, of_band: bool
) -> None:
    """How far this record lies apart, in words above the panel, and where, by an arrow."""
    alike, above, below = _WORDS_OF_BAND if of_band else _WORDS_OF_OTHER
    if apart is None:
        axis.set_title(words.label("plots", alike), loc="right", fontsize=8.0)
        return
    unit = unit_of(column)
    # A difference of temperatures is told in kelvins.
    by = quantity(float(f"{abs(apart.by):.3g}"), "K" if unit == "°C" else unit, words)
    axis.set_title(
        words.label("plots", above if apart.by > 0.0 else below).format(by=by),
        loc="right", fontsize=8.0, fontweight="bold",
    )  # fmt: skip
    axis.annotate(
        "", xy=(apart.at_s, apart.own), xytext=(apart.at_s, apart.edge),
        arrowprops={"arrowstyle": "<->", "color": _INK, "shrinkA": 0.0, "shrinkB": 0.0},
    )  # fmt: skip


def _name_curves(
    axis: Axes, own: Record, reference: Band, column: str, words: Catalogue, *, of_band: bool
) -> None:
    """Names beside the curves, the higher one above its curve and the lower one below."""
    moments, values = measured(own, column)
    if not moments:
        return
    told = dict(zip(moments, values, strict=True))
    places = [
        (at, told[at], (low + high) / 2.0)
        for at, low, high in zip(reference.at_s, reference.lowest, reference.highest, strict=True)
        if at in told and not math.isnan(low)
    ]
    if not places:
        return
    span = places[-1][0] - places[0][0]
    at, ours, theirs = next(p for p in places if p[0] >= places[0][0] + 0.6 * span)
    names = ((ours, "curve_own"), (theirs, "curve_band" if of_band else "curve_other"))
    for value, key in names:
        higher = (value, key == "curve_own") >= (max(ours, theirs), ours >= theirs)
        axis.annotate(
            words.label("plots", key), xy=(at, value), xytext=(0.0, 3.0 if higher else -3.0),
            textcoords="offset points", ha="center", va="bottom" if higher else "top",
            fontsize=7.5, fontweight="bold" if key == "curve_own" else "normal",
        )  # fmt: skip
    low, high = axis.get_ylim()
    axis.set_ylim(low - 0.12 * (high - low), high + 0.18 * (high - low))


def _draw_band(axis: Axes, band: Band, count: int, words: Catalogue) -> None:
    label = words.label("plots", "known_good_band").format(count=count)
    axis.fill_between(
        band.at_s, band.lowest, band.highest, facecolor=_BAND, edgecolor=_SOFT, linewidth=0.9,
        hatch="////", label=label,
    )  # fmt: skip


def _name(record: Record, words: Catalogue) -> str:
    run_id = one_line(record.run.run_id, 60)
    return f"{run_id} ({words.word(record.run.shown_verdict)})"
