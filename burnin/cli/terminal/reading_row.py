"""A reading as one row of the screen, and how each verdict looks there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from burnin.cli.terminal.figures import fitted, limit_text, title_text, value_text, verdict_text
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
_WIDE, _NARROW = 112, 100
"""Columns: readings take no more than the first; below the second, their titles are cut."""


def reading_row(reading: Reading, words: Catalogue, width: int) -> Text:
    """Title, value, limit and verdict in columns that fit the width."""
    from rich.text import Text

    room = min(width, _WIDE)
    name_width, limit_width = (28, 13) if room < _NARROW else (42, 26)
    value_width = room - 4 - name_width - limit_width - _VERDICT_WIDTH
    row = Text("    ")
    row.append(fitted(title_text(reading, words, name_width), name_width))
    row.append(fitted(value_text(reading, words), value_width))
    row.append(fitted(limit_text(reading, words), limit_width), style="dim")
    row.append(verdict_text(reading, words), style=STYLES[reading.verdict or ""])
    return row
