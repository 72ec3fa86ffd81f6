"""A record's curves over those of others: known-good ones as a band, one named as a dashed line."""

from __future__ import annotations

import io
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from burnin.core.errors import RecordError
from burnin.core.system import cannot_write
from burnin.record.reader import Record
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.one_line import one_line
from burnin.report.languages.units import unit_of
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
_STYLES = ("--", ":", "-.")
_SETTINGS = {"svg.fonttype": "none", "svg.hashsalt": "pair", "font.size": 8.0}


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
    """The drawing as SVG text, told apart in black and white too."""
    import matplotlib as mpl
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    columns = [c for c in _COLUMNS if any(v is not None for v in own.series.columns[c])]
    with mpl.rc_context(_SETTINGS | {"text.parse_math": False}):  # type: ignore[arg-type]
        figure = Figure(figsize=(7.4, 1.0 + 1.35 * max(1, len(columns))), layout="constrained")
        FigureCanvasSVG(figure)
        panels = figure.subplots(max(1, len(columns)), 1, sharex=True, squeeze=False)[:, 0]
        for axis, column in zip(panels, columns, strict=False):
            _panel(axis, column, own, others, known_good, words)
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
) -> None:
    drawn = "steps-post" if column in _STEPS else "default"
    if len(known_good) > 1:
        band = band_of(own, known_good, column)
        if band is not None:
            _draw_band(axis, band, len(known_good), words)
    for place, other in enumerate(others[: len(_STYLES)]):
        moments, values = measured(other, column)
        axis.plot(
            moments, values, _STYLES[place], color=_SOFT, linewidth=1.1, drawstyle=drawn,
            label=_name(other, words),
        )  # fmt: skip
    moments, values = measured(own, column)
    axis.plot(moments, values, "-", color=_INK, linewidth=1.4, drawstyle=drawn,
              label=_name(own, words))  # fmt: skip
    unit = words.unit(unit_of(column))
    axis.set_ylabel(f"{words.label('curves', column)}\n{unit}")
    axis.grid(visible=True, color="#dfe2de", linewidth=0.5)
    low, high = axis.get_ylim()
    if high - low < 1.0:
        axis.set_ylim(low - 0.5, high + 0.5)
    axis.yaxis.set_major_formatter(
        lambda value, _: words.number(f"{value:g}".replace("-", "\u2212"))
    )


def _draw_band(axis: Axes, band: Band, count: int, words: Catalogue) -> None:
    label = words.label("plots", "known_good_band").format(count=count)
    axis.fill_between(
        band.at_s, band.lowest, band.highest, facecolor=_BAND, edgecolor=_SOFT, linewidth=0.4,
        label=label,
    )  # fmt: skip


def _name(record: Record, words: Catalogue) -> str:
    run_id = one_line(record.run.run_id, 60)
    return f"{run_id} ({words.word(record.run.shown_verdict)})"
