"""A reading as one row of the screen, and how each verdict looks there."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

from burnin.cli.terminal.figures import limit_text, value_text, verdict_text
from burnin.core.reading import Reading

if TYPE_CHECKING:
    from rich.text import Text

    from burnin.report.languages.catalogue import Catalogue

STYLES = {
    "pass": "bold",
    "fail": "bold reverse",
    "aborted": "bold reverse",
    "conditional": "bold underline",
    "incomplete": "underline",
    "not measured": "underline",
    "unsure": "underline",
    "": "dim",
}
"""How a verdict is set, by its word; empty: judged by nothing."""
_VERDICT_WIDTH = 15
_WIDE, _NARROW, _STACKED = 112, 100, 76
"""Columns: readings take no more than the first; below the second, columns are narrower; below the
third, the title has a line of its own."""
_INDENT, _DEEPER = 4, 6


def reading_row(reading: Reading, words: Catalogue, width: int) -> Text:
    """Title, value, limit and verdict in columns that fit the width; what is longer is wrapped."""
    room = min(width, _WIDE)
    texts = (
        words.reading(reading.name),
        value_text(reading, words),
        limit_text(reading, words),
        verdict_text(reading, words),
    )
    styles = ("", "", "dim", STYLES[reading.verdict or ""])
    if room < _STACKED:
        return _stacked(texts, styles, room)
    name_width, limit_width = (30, 15) if room < _NARROW else (42, 26)
    value_width = room - _INDENT - name_width - limit_width - _VERDICT_WIDTH
    return _beside(texts, styles, (name_width, value_width, limit_width, _VERDICT_WIDTH))


def _beside(texts: Sequence[str], styles: Sequence[str], widths: Sequence[int]) -> Text:
    """Cells beside each other, each on as many lines as its text takes."""
    from rich.text import Text

    cells = [_lines(text, width - 1) for text, width in zip(texts, widths, strict=True)]
    row = Text()
    for number in range(max(map(len, cells))):
        row.append("\n" if number else "")
        row.append(" " * _INDENT)
        there = [cell[number] if number < len(cell) else "" for cell in cells]
        last = max(place for place, text in enumerate(there) if text)
        for place in range(last + 1):
            shown = there[place]
            row.append(shown, style=styles[place])
            row.append(" " * (widths[place] - len(shown) if place < last else 0))
    return row


def _stacked(texts: Sequence[str], styles: Sequence[str], room: int) -> Text:
    """The title, and below it the rest, parted by two blanks, for a narrow terminal."""
    from rich.text import Text

    title, *rest = texts
    row = Text(" " * _INDENT)
    row.append(f"\n{' ' * _INDENT}".join(_lines(title, room - _INDENT)))
    used = room
    for text, style in zip(rest, styles[1:], strict=True):
        if not text:
            continue
        if used + 2 + len(text) > room:
            row.append(f"\n{' ' * _DEEPER}")
            used = _DEEPER
        else:
            row.append("  ")
            used += 2
        lines = _lines(text, room - _DEEPER)
        row.append(f"\n{' ' * _DEEPER}".join(lines), style=style)
        used += len(lines[-1])
    return row


def _lines(text: str, width: int) -> list[str]:
    return textwrap.wrap(text, width, break_on_hyphens=False, subsequent_indent=" ") or [""]
