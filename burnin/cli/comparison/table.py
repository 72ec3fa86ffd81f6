"""The table of a comparison: what differs or was judged otherwise, in columns that fit."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from burnin.cli.terminal.figures import fitted, title_text
from burnin.cli.ticket_terms import ComparisonLine
from burnin.core.reading import Reading
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.numbers import figure
from burnin.report.languages.values import value_text
from burnin.ticket.comparison.comparison import Comparison
from burnin.ticket.comparison.rows import Row

_WIDEST, _LEAST_TITLE, _WITH_VERDICT = 132, 26, 112
"""Columns: no wider; a title with less room has a line of its own; from the third on the verdict
has a column."""
_INDENT = "  "


def table_of(
    found: Comparison, words: Catalogue, width: int, *, all_rows: bool
) -> Iterator[str]:
    """The rows under a heading for each stage; without `all_rows` only what differs."""
    shown = [r for r in found.rows if all_rows or r.differs or r.judged_otherwise or r.far]
    several = len(found.beside) > 1
    spread = any(row.spreads is not None for row in shown)
    columns = _columns(min(width, _WIDEST), spread=spread)
    if shown:
        yield _headings(columns, words, several=several).rstrip()
    stage = None
    for row in shown:
        if row.stage != stage:
            stage = row.stage
            number = stage.partition("-")[0]
            title = words.stage(row.kind)
            yield f"{number} {title}" if number.isdigit() else title
        yield from _row(row, columns, words, spread=spread)
    left_out = len(found.rows) - len(shown)
    if left_out:
        told = words.say(ComparisonLine.ROWS_LEFT_OUT(rows_count=left_out))
        yield from textwrap.wrap(told, width)


def _columns(width: int, *, spread: bool) -> tuple[int, ...]:
    """Widths of title (0: a line of its own), value, other value, difference, spreads, verdict."""
    spreads = 11 if spread else 0
    verdict = 24 if width >= _WITH_VERDICT else 0
    room = width - len(_INDENT) - spreads - verdict
    value = 18
    title = room - 2 * value - 12
    if title < _LEAST_TITLE:
        value = min(20, (room - len(_INDENT) - 13) // 2)
        return 0, value, value, 13, spreads, verdict
    return title, value, value, 12, spreads, verdict


def _headings(columns: Sequence[int], words: Catalogue, *, several: bool) -> str:
    other = ComparisonLine.COLUMN_MEDIAN if several else ComparisonLine.COLUMN_OTHER
    texts = [
        words.say(term)
        for term in (
            ComparisonLine.COLUMN_READING(),
            ComparisonLine.COLUMN_OWN(),
            other(),
            ComparisonLine.COLUMN_DIFFERENCE(),
            ComparisonLine.COLUMN_SPREADS(),
            ComparisonLine.COLUMN_VERDICT(),
        )
    ]
    start = _INDENT if columns[0] else _INDENT * 2
    return start + "".join(
        fitted(text, width) for text, width in zip(texts, columns, strict=True) if width
    )


def _row(
    row: Row, columns: Sequence[int], words: Catalogue, *, spread: bool
) -> Iterator[str]:
    title, value, other, difference, spreads, verdict = columns
    start = _INDENT
    if not title:
        yield _INDENT + words.reading(row.reading)
        start = _INDENT * 2
    line = fitted(title_text(row.own, words, title), title) if title else ""
    line += fitted(_value(row.own, words, value), value)
    line += fitted(_value(row.other, words, other), other)
    line += fitted(_difference(row, words), difference)
    if spread:
        line += fitted(_spreads(row, words), spreads)
    judged = _judged(row, words)
    if verdict:
        line += judged
    yield (start + line).rstrip()
    if judged and not verdict:
        yield f"{_INDENT * 2}{judged}"


def _value(reading: Reading, words: Catalogue, width: int) -> str:
    """The value with its uncertainty, without it where there is no room."""
    if reading.value is None:
        return "–"
    whole = value_text(reading, words)
    if len(whole) < width or isinstance(reading.value, str):
        return whole
    number, _, _ = whole.partition("\u00a0±")
    return f"{number} {words.unit(reading.unit)}".rstrip()


def _difference(row: Row, words: Catalogue) -> str:
    if not row.difference:
        return "" if row.difference is None else "0"
    size = words.number(figure(abs(row.difference), row.uncertainty or 0.0))
    return f"{'+' if row.difference > 0.0 else '−'}{size}"


def _spreads(row: Row, words: Catalogue) -> str:
    """How many spreads off, with a mark where that is far."""
    if row.spreads is None:
        return ""
    told = words.number(f"{row.spreads:+.1f}".replace("-", "−"))
    return f"{told} !" if row.far else told


def _judged(row: Row, words: Catalogue) -> str:
    if not row.judged_otherwise or row.own.verdict is None or row.other.verdict is None:
        return ""
    return f"{words.word(row.own.verdict.value)} | {words.word(row.other.verdict.value)}"
