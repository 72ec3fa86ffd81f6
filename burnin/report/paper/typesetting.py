"""Paper: a template and plain data become a PDF, with fonts that are at hand everywhere."""

from __future__ import annotations

import json
import re
import unicodedata
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from burnin.core.clock import moment_of
from burnin.core.errors import RecordError
from burnin.report.refusals import ReportRefusal

PAPERS = ("a4", "letter")
_STANDARDS: tuple[list[str], ...] = (["a-2a", "ua-1"], [])
"""PDF/A-2a (ISO 19005-2: kept for years, its text found again) with PDF/UA-1 (ISO 14289-1: read
aloud); without them where a text cannot be had so, a sign of private use for one."""
_LONG_WORD = re.compile(r"\S{28,}")
_ZERO_WIDTH_SPACE = "\u200b"


def typeset(
    template: str, content: Any, inputs: dict[str, str], dated_utc: str
) -> tuple[bytes, int]:
    """The PDF's bytes and its number of pages, dated with a UTC moment.

    The same content gives the same bytes. Raises RecordError if it cannot be set.
    """
    import typst

    from burnin.report.templates import template_path

    dated = moment_of(dated_utc)
    text = json.dumps(content, ensure_ascii=True)
    try:
        compiler = typst.Compiler(
            template_path(template),
            font_paths=_font_folders(),
            ignore_system_fonts=_covers(text),
            sys_inputs={**inputs, "content": text},
        )
        made = _compiled(compiler, int(dated.timestamp()) if dated else 0)
        pages = int(compiler.query("<pages>", field="value", one=True))
    except RuntimeError as error:
        raise RecordError(ReportRefusal.NOT_SET(words=str(error))) from error
    if not isinstance(made, bytes):
        raise RecordError(ReportRefusal.NO_SINGLE_FILE())
    return made, pages


def _compiled(compiler: Any, timestamp: int) -> object:
    """By the strictest standards that the content bears; raises RuntimeError."""
    *strict, least = _STANDARDS
    for standards in strict:
        try:
            return compiler.compile(format="pdf", timestamp=timestamp, pdf_standards=standards)
        except RuntimeError:
            continue
    return compiler.compile(format="pdf", timestamp=timestamp, pdf_standards=least)


def breakable(value: Any) -> Any:
    """Every text in plain data with long words made so that they may break anywhere."""
    if isinstance(value, str):
        return _LONG_WORD.sub(lambda word: _ZERO_WIDTH_SPACE.join(_pieces(word.group())), value)
    if isinstance(value, dict):
        return {key: breakable(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [breakable(item) for item in value]
    return value


def shortened(text: str, most: int) -> str:
    """A text of at most `most` characters, with an ellipsis where it was cut."""
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def without_pictures(text: str) -> str:
    """A text without picture signs: one of them takes a whole line to a font that has no letters.

    >>> without_pictures("\U0001f6e0\ufe0f Corvane \U0001f469\u200d\U0001f527")
    '□ Corvane □□'
    """
    signs = ((sign, unicodedata.category(sign)) for sign in text)
    return "".join(
        "□" if kind == "So" and ord(sign) > 0xFFFF else sign
        for sign, kind in signs
        if kind != "Cf" and not 0xFE00 <= ord(sign) <= 0xFE0F
    )


def as_numbers(content: bytes) -> list[int]:
    """Bytes as a template can take them: a list of numbers from 0 to 255."""
    return list(content)


def _pieces(word: str) -> list[str]:
    return [word[start : start + 14] for start in range(0, len(word), 14)]


def _font_folders() -> list[Path]:
    """Folder of the fonts that come with the plotting library."""
    spec = find_spec("matplotlib")
    places = spec.submodule_search_locations if spec else None
    return [Path(place) / "mpl-data" / "fonts" / "ttf" for place in places or ()]


def _covers(escaped: str) -> bool:
    """Whether the fonts at hand have every letter of a JSON text: Latin to Arabic, and print.

    The bench's own fonts serve only where a text has letters that these lack, because with them
    the same record may look different on another bench.
    """
    codes = (int(code, 16) for code in re.findall(r"\\u([0-9a-f]{4})", escaped))
    return all(
        code <= 0x06FF or 0x1D00 <= code <= 0x2BFF or 0xFB1D <= code <= 0xFEFF for code in codes
    )
