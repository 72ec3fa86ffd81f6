"""An answer as lines of the terminal: a table that is as wide as it must be, and its notes."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from burnin.core.meaning import Meaning
from burnin.history.answer import Answer, Cell, Question
from burnin.history.headings import Heading
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.numbers import figure
from burnin.report.languages.one_line import one_line

_WIDTH, _MOST_CELL = 100, 48
_MOMENTS = (Heading.WHEN, Heading.SINCE)
_OWN_NAMES = {Heading.GROUP: "history_group_", Heading.WHAT: "history_life_", Heading.DETAIL: ""}
"""Columns whose cells are names of ours, or somebody's own words; how ours stand in a catalogue."""


def lines_of(question: Question, answer: Answer, words: Catalogue) -> Iterator[str]:
    """Title, rows under their headings, notes."""
    yield words.say(question.title())
    yield ""
    if answer.rows:
        heads = [words.say(heading()) for heading in answer.columns]
        cells = [
            [cell_text(cell, head, words) for cell, head in zip(row, answer.columns, strict=True)]
            for row in answer.rows
        ]
        wide = [max(map(len, column)) for column in zip(heads, *cells, strict=True)]
        left = [
            all(isinstance(row[n], str | Meaning | None) for row in answer.rows)
            for n in range(len(heads))
        ]
        for row in (heads, *cells):
            yield "  ".join(
                text.ljust(width) if to_left else text.rjust(width)
                for text, width, to_left in zip(row, wide, left, strict=True)
            ).rstrip()
        yield ""
    for note in answer.notes:
        yield from textwrap.wrap(words.say(note), _WIDTH, subsequent_indent="  ")


def cell_text(cell: Cell, heading: Heading, words: Catalogue) -> str:
    """A cell as a person reads it."""
    if cell is None:
        return "–"
    if isinstance(cell, Meaning):
        return one_line(words.say(cell), _MOST_CELL)
    if isinstance(cell, bool):
        return words.word("yes" if cell else "no")
    if isinstance(cell, int | float):
        return words.number(figure(float(cell)))
    if heading in _MOMENTS:
        return words.moment(cell) if cell else ""
    if heading is Heading.READING:
        return words.reading(cell)
    if heading is Heading.STAGE:
        return words.stage(cell)
    if heading is Heading.UNIT:
        return words.unit(cell)
    return one_line(own_name(cell, heading, words), _MOST_CELL)


def own_name(cell: str, heading: Heading, words: Catalogue) -> str:
    """A name of ours in words; anything else as it is."""
    prefix = _OWN_NAMES.get(heading)
    if prefix is None:
        return cell
    told = words.word(prefix + cell)
    return cell if told == prefix + cell else told


def cell_plain(cell: Cell) -> object:
    """A cell as a machine reads it."""
    return cell.as_plain() if isinstance(cell, Meaning) else cell
