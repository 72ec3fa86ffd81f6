"""The sheet on paper, A4 or Letter, one or two pages, with text that can be selected."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import Any

from burnin.report.paper.typesetting import breakable, shortened, typeset, without_pictures
from burnin.report.sheet.content import SheetContent
from burnin.report.sheet.reading_lines import ReadingLine

MOST_PAGES = 2


@dataclass(frozen=True)
class Density:
    """How tightly a sheet is set.

    `scale` of the type (1: 9.8 pt), `plot_share` of the page's width, most `readings`, longest
    reason in characters, most `examples` of failing words.
    """

    scale: float
    plot_share: float
    readings: int
    reason_length: int
    examples: int


# Readable first; each next one is tried only if the sheet needs more than two pages.
DENSITIES = (
    Density(1.0, 1.0, 22, 400, 8),
    Density(0.95, 0.97, 18, 300, 6),
    Density(0.9, 0.92, 14, 240, 5),
    Density(0.84, 0.86, 10, 180, 4),
    Density(0.78, 0.78, 8, 140, 3),
    Density(0.7, 0.7, 6, 100, 2),
    Density(0.6, 0.6, 4, 70, 1),
)


def sheet_pdf(content: SheetContent, plot_svg: str, paper: str = "a4") -> bytes:
    """The PDF's bytes, dated with the end of the run: the same record gives the same bytes.

    `paper` is a4 or letter. A record with very much to say is set in smaller type with fewer
    passed readings; what failed, and what was not measured, is never left out. Raises RecordError
    if it cannot be set.
    """
    pdf = b""
    for density in DENSITIES:
        inputs = {
            "plot": without_pictures(plot_svg),
            "scale": str(density.scale),
            "plot_share": str(density.plot_share),
            "paper": "us-letter" if paper == "letter" else "a4",
        }
        pdf, pages = typeset("sheet.typ", _fitted(content, density), inputs, content.ended_utc)
        if pages <= MOST_PAGES:
            break
    return pdf


def _fitted(content: SheetContent, density: Density) -> dict[str, Any]:
    """The content as plain data, cut to a density; long words may break anywhere."""
    shown = _most_telling(content.readings, density.readings)
    words = content.failing_words
    if words is not None:
        words = replace(words, examples=words.examples[: density.examples])
    fields = asdict(replace(content, readings=shown, failing_words=words))
    fingerprint = fields.pop("fingerprint")
    cut: dict[str, Any] = breakable(fields)
    for group in cut["open_groups"]:
        for point in group["points"]:
            point["reason"] = shortened(point["reason"], density.reason_length)
    for line in (*cut["stages"], *cut["readings"]):
        line["reason"] = shortened(line["reason"], density.reason_length)
    left_out = len(content.readings) - len(shown)
    return {
        **cut,
        "fingerprint": fingerprint,
        "left_out": left_out,
        "left_out_told": content.labels["more_elsewhere"].format(count=left_out),
    }


def _most_telling(lines: tuple[ReadingLine, ...], most: int) -> tuple[ReadingLine, ...]:
    """All of rank 0, then by rank up to `most`, in the order of the run."""
    order = sorted(range(len(lines)), key=lambda i: (lines[i].rank, i))
    kept = {i for place, i in enumerate(order) if place < most or lines[i].rank == 0}
    return tuple(line for i, line in enumerate(lines) if i in kept)
