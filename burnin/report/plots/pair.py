"""Two records in one drawing: temperature and power over time, told apart in black and white."""

from __future__ import annotations

import io
from pathlib import Path

from burnin.core.errors import RecordError
from burnin.record.reader import RecordData, read_record, text
from burnin.report.outcome import banners

_PANELS = (
    ("gpu_temp_c", "GPU temperature\n°C"),
    ("power_w", "Power\nW"),
    ("link_speed_gts", "Link speed\nGT/s"),
)


def draw_pair(first: Path, second: Path) -> Path:
    """Write beside.svg next to the first record's folder; raises RecordError.

    It lies outside the record, whose files are listed and signed.
    """
    target = first.parent / f"{first.name}-beside-{second.name}.svg"
    drawing = pair_svg(read_record(first), read_record(second))
    try:
        target.write_text(drawing, encoding="utf-8")
    except OSError as error:
        raise RecordError(f"{target} cannot be written: {error.strerror or error}") from None
    return target


def pair_svg(first: RecordData, second: RecordData) -> str:
    """The drawing as SVG text; the first record drawn through, the second dashed."""
    import matplotlib
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    with matplotlib.rc_context(
        {"svg.fonttype": "none", "svg.hashsalt": "pair", "font.size": 8.0}
    ):
        figure = Figure(figsize=(7.4, 5.6), layout="constrained")
        FigureCanvasSVG(figure)
        axes = figure.subplots(len(_PANELS), 1, sharex=True)
        for axis, (name, label) in zip(axes, _PANELS, strict=True):
            for record, style, width in ((first, "-", 1.4), (second, "--", 1.1)):
                moments, values = _series(record, name)
                axis.plot(
                    moments, values, style, color="#1c2326", linewidth=width, label=_name(record)
                )
            axis.set_ylabel(label)
            axis.grid(visible=True, color="#dfe2de", linewidth=0.5)
        axes[0].legend(loc="upper left", frameon=False)
        axes[-1].set_xlabel("time since the start (s)")
        told = "  ·  ".join(dict.fromkeys((*banners(first), *banners(second))))
        if told:
            figure.suptitle(told, fontsize=8.0, fontweight="bold")
        out = io.StringIO()
        figure.savefig(out, format="svg", metadata={"Date": None})
    return out.getvalue()


def _series(record: RecordData, name: str) -> tuple[list[float], list[float]]:
    column = record.telemetry.columns[name]
    pairs = [
        (moment, value)
        for moment, value in zip(record.telemetry.elapsed_s, column, strict=True)
        if value is not None
    ]
    return [moment for moment, _ in pairs], [value for _, value in pairs]


def _name(record: RecordData) -> str:
    # A dollar sign would begin a formula.
    return f"{text(record.facts, 'run_id')} ({text(record.facts, 'verdict')})".replace("$", r"\$")
