"""Two records in one drawing: temperature and power over time, told apart in black and white."""

from __future__ import annotations

import io
from pathlib import Path

from burnin.core.errors import RecordError
from burnin.record.reader import Record, read_record
from burnin.report.languages.catalogue import Catalogue, catalogue
from burnin.report.sheet.printed_verdict import banners

_COLUMNS = ("gpu_temp_c", "power_w", "link_speed_gts")


def draw_two(first: Path, second: Path, language: str = "en") -> Path:
    """Write an SVG of both beside the first record's folder; raises RecordError.

    It lies outside the record, whose files are listed and signed.
    """
    target = first.parent / f"{first.name}-beside-{second.name}.svg"
    drawing = two_records_svg(read_record(first), read_record(second), catalogue(language))
    try:
        target.write_text(drawing, encoding="utf-8")
    except OSError as error:
        raise RecordError(f"{target} cannot be written: {error.strerror or error}") from None
    return target


def two_records_svg(first: Record, second: Record, words: Catalogue) -> str:
    """The drawing as SVG text; the first record drawn through, the second dashed."""
    import matplotlib
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    with matplotlib.rc_context(
        {"svg.fonttype": "none", "svg.hashsalt": "pair", "font.size": 8.0}
    ):
        figure = Figure(figsize=(7.4, 5.6), layout="constrained")
        FigureCanvasSVG(figure)
        axes = figure.subplots(len(_COLUMNS), 1, sharex=True)
        for axis, name in zip(axes, _COLUMNS, strict=True):
            for record, style, width in ((first, "-", 1.4), (second, "--", 1.1)):
                moments, values = _measured(record, name)
                label = _name(record, words)
                axis.plot(moments, values, style, color="#1c2326", linewidth=width, label=label)
            axis.set_ylabel(words.label("plots", f"axis_{name}"))
            axis.grid(visible=True, color="#dfe2de", linewidth=0.5)
        axes[0].legend(loc="upper left", frameon=False)
        axes[-1].set_xlabel(words.label("plots", "time_s"))
        told = [words.say(banner) for banner in (*banners(first), *banners(second))]
        if told:
            figure.suptitle("  ·  ".join(dict.fromkeys(told)), fontsize=8.0, fontweight="bold")
        out = io.StringIO()
        figure.savefig(out, format="svg", metadata={"Date": None})
    return out.getvalue()


def _measured(record: Record, name: str) -> tuple[list[float], list[float]]:
    series = record.series
    pairs = [
        (moment, value)
        for moment, value in zip(series.elapsed_s, series.columns[name], strict=True)
        if value is not None
    ]
    return [moment for moment, _ in pairs], [value for _, value in pairs]


def _name(record: Record, words: Catalogue) -> str:
    # A dollar sign would begin a formula.
    return f"{record.run.run_id} ({words.word(record.run.shown_verdict)})".replace("$", r"\$")
