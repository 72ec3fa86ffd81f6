"""Parts of the internal sheet: facts, lines and tables of plain text under a title."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from burnin.core.quantities.scale import scaled
from burnin.core.reading import Reading, Verdict
from burnin.report.languages.catalogue import Catalogue, catalogue
from burnin.report.languages.numbers import uncertainty_text
from burnin.report.languages.one_line import one_line
from burnin.report.languages.values import limit_text
from burnin.report.sheet.particulars import Fact
from burnin.report.ticket.ticket_facts import PhotoFact

MOST = 2000
"""Longest text of a cell, in characters."""
_WIDE = {"col_what": 3, "col_why": 3, "col_note": 3, "col_reading": 3, "col_value": 2}
_WIDE |= {"col_must_be": 2}


@dataclass(frozen=True)
class Table:
    """Rows of plain text under a header; every row is as long as the header.

    `shares`: which share of the width a column gets, 0 for as much as it needs.
    """

    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    shares: tuple[int, ...] = ()


@dataclass(frozen=True)
class Section:
    """A part of the sheet; what is empty is not printed."""

    title: str
    facts: tuple[Fact, ...] = ()
    lines: tuple[str, ...] = ()
    table: Table | None = None
    photos: tuple[PhotoFact, ...] = ()

    @property
    def is_empty(self) -> bool:
        """Nothing to print."""
        return not (self.facts or self.lines or self.photos or (self.table and self.table.rows))


def table_of(
    columns: Iterable[str], rows: Iterable[Iterable[str]], words: Catalogue
) -> Table:
    """A table; columns by their names in the group ``internal`` (empty: no heading)."""
    named = tuple(columns)
    return Table(
        tuple(words.label("internal", name) if name else "" for name in named),
        tuple(tuple(one_line(cell, MOST) for cell in row) for row in rows),
        tuple(_WIDE.get(name, 0) for name in named),
    )


def before_power_table(readings: Iterable[Reading], words: Catalogue | None = None) -> Table:
    """Values before power as rows of text: point, value, limit, verdict, why, source."""
    told = words or catalogue()
    names = ("col_point", "col_value", "col_must_be", "col_verdict", "col_why", "col_source")
    return table_of(names, (_before_power_row(r, told) for r in readings), told)


def _before_power_row(reading: Reading, words: Catalogue) -> tuple[str, ...]:
    verdict = words.word(reading.verdict) if reading.verdict else words.label(
        "internal", "recorded"
    )
    return (
        reading.name,
        _value(reading, words),
        limit_text(reading, words),
        verdict.upper() if reading.verdict is Verdict.FAIL else verdict,
        words.say(reading.reason),
        one_line(words.say(reading.source), 120),
    )


def _value(reading: Reading, words: Catalogue) -> str:
    value = reading.value
    if not isinstance(value, float):
        return words.word(value) if value else ""
    factor, unit = scaled(value, reading.unit)
    told = words.number(f"{value / factor:.4g}")
    if reading.uncertainty:
        told += f" ± {words.number(uncertainty_text(reading.uncertainty / factor))}"
    return f"{told} {words.unit(unit)}".strip()
