"""The sheet on A4 paper, one or two pages, with text that can be selected."""

from __future__ import annotations

import json
import re
from dataclasses import asdict, dataclass, replace
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from burnin.errors import RecordError
from burnin.sheet.content import ReadingLine, SheetContent
from burnin.sheet.values import moment

MOST_PAGES = 2
_LONG_WORD = re.compile(r"\S{28,}")
_ZERO_WIDTH_SPACE = "\u200b"


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


def sheet_pdf(content: SheetContent, plot_svg: str) -> bytes:
    """The PDF's bytes, dated with the end of the run: the same record gives the same bytes.

    A record with very much to say is set in smaller type with fewer passed readings; what failed,
    and what was not measured, is never left out. Raises RecordError if it cannot be set.
    """
    import typst

    from burnin.sheet.templates import template_path

    ended = moment(content.ended_utc)
    folder, system_fonts = _fonts(content)
    pdf = b""
    for density in DENSITIES:
        inputs = {
            "content": json.dumps(_fitted(content, density), ensure_ascii=True),
            "plot": plot_svg,
            "scale": str(density.scale),
            "plot_share": str(density.plot_share),
        }
        try:
            compiler = typst.Compiler(
                template_path("sheet.typ"),
                font_paths=folder,
                ignore_system_fonts=not system_fonts,
                sys_inputs=inputs,
            )
            made = compiler.compile(format="pdf", timestamp=int(ended.timestamp()) if ended else 0)
            pages = int(compiler.query("<pages>", field="value", one=True))
        except RuntimeError as error:
            raise RecordError(f"the sheet cannot be set as PDF: {error}") from error
        if not isinstance(made, bytes):
            raise RecordError("the sheet cannot be set as PDF: the typesetter gave no single file")
        pdf = made
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
    cut: dict[str, Any] = _map_text(fields, lambda text: _breakable(text))
    for group in cut["gaps"]:
        for gap in group["gaps"]:
            gap["reason"] = _short(gap["reason"], density.reason_length)
    for line in (*cut["stages"], *cut["readings"]):
        line["reason"] = _short(line["reason"], density.reason_length)
    return {
        **cut,
        "fingerprint": fingerprint,
        "left_out": len(content.readings) - len(shown),
    }


def _most_telling(lines: tuple[ReadingLine, ...], most: int) -> tuple[ReadingLine, ...]:
    """All of rank 0, then by rank up to `most`, in the order of the run."""
    order = sorted(range(len(lines)), key=lambda i: (lines[i].rank, i))
    kept = {i for place, i in enumerate(order) if place < most or lines[i].rank == 0}
    return tuple(line for i, line in enumerate(lines) if i in kept)


def _short(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def _breakable(text: str) -> str:
    return _LONG_WORD.sub(lambda word: _ZERO_WIDTH_SPACE.join(_pieces(word.group())), text)


def _pieces(word: str) -> list[str]:
    return [word[start : start + 14] for start in range(0, len(word), 14)]


def _map_text(value: Any, change: Any) -> Any:
    if isinstance(value, str):
        return change(value)
    if isinstance(value, dict):
        return {key: _map_text(item, change) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_map_text(item, change) for item in value]
    return value


def _fonts(content: SheetContent) -> tuple[list[Path], bool]:
    """Folder of the fonts that come with the plotting library, and whether the bench's are needed.

    The bench's own fonts serve only where a text has letters that the former lack, because with
    them the same record may look different on another bench.
    """
    spec = find_spec("matplotlib")
    places = spec.submodule_search_locations if spec else None
    folders = [Path(place) / "mpl-data" / "fonts" / "ttf" for place in places or ()]
    text = json.dumps(asdict(content), ensure_ascii=False)
    return folders, any(not _covered(ord(character)) for character in text)


def _covered(code: int) -> bool:
    """Whether the fonts at hand have a script: Latin to Arabic, and the signs of print."""
    return code <= 0x06FF or 0x1D00 <= code <= 0x2BFF or 0xFB1D <= code <= 0xFEFF
