"""Older formats in the newest one, in memory: what was written is never written again.

To add a format: a folder ``format_<n>`` with what differs, and a step here.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from burnin.core.files.bounded import read_at_most
from burnin.core.sample import FAN_NAMES
from burnin.record import csv_rows
from burnin.record.format_1 import run as run_of_format_1
from burnin.record.format_1 import tables as tables_of_format_1
from burnin.record.format_1.words import Typing
from burnin.record.schema.most_bytes import most_bytes_of
from burnin.record.schema.tables import (
    CHAIN,
    FAILING_WORDS,
    JOURNAL,
    NOT_READ,
    READINGS,
    SAMPLES,
    TABLES,
    columns,
)

_ADDED_LATER = (
    *(CHAIN, "rule", "rule_data", "period_s", "late_s", "flaws"),
    *(name for fan in FAN_NAMES[1:] for name in fan),
)
"""Columns that records of format 2 did not always have."""


def _first(table: str) -> tuple[str, ...]:
    """Columns that every record of format 2 has."""
    return tuple(name for name in columns(TABLES[table]) if name not in _ADDED_LATER)


_NEEDED = {
    READINGS: _first(READINGS),
    SAMPLES: ("elapsed_s", "time_utc", "stage", "load_share", "present"),
    NOT_READ: _first(NOT_READ),
    JOURNAL: _first(JOURNAL),
    FAILING_WORDS: ("address_bytes", "expected", "got"),
}
_NEEDED_IN_FORMAT_1 = {**_NEEDED, READINGS: tables_of_format_1.READING_COLUMNS}


def needed_columns(table: str, format_read: int) -> tuple[str, ...]:
    """Columns that a table of a format cannot do without."""
    return (_NEEDED_IN_FORMAT_1 if format_read == 1 else _NEEDED)[table]


def run_in_new_format(
    content: dict[str, object], format_read: int, folder: Path, untyped: list[str]
) -> dict[str, object]:
    """run.json in the newest format; `untyped` takes the places that stay words."""
    if format_read == 1:
        names = lambda: _names_of_readings(folder)  # noqa: E731 - read only where something is owed
        return run_of_format_1.run_in_new_format(content, names, Typing(untyped))
    return content


def row_in_new_format(
    table: str, cells: dict[str, str], format_read: int, place: str, untyped: list[str]
) -> dict[str, str]:
    """A line of a table in the newest format; raises ValueError where it is none."""
    if format_read == 1 and table == READINGS:
        return tables_of_format_1.reading_in_new_format(cells, place, Typing(untyped))
    if format_read == 1 and table == JOURNAL:
        return tables_of_format_1.entry_in_new_format(cells, place, Typing(untyped))
    return cells


def _names_of_readings(folder: Path) -> Mapping[str, tuple[str, ...]]:
    """Names of the readings of each stage, as far as they are on record."""
    try:
        raw = read_at_most(folder / READINGS, most_bytes_of(READINGS))
    except OSError:
        return {}
    found: dict[str, dict[str, None]] = {}
    for _, cells in csv_rows.rows(raw):
        if cells is not None:
            found.setdefault(cells.get("stage", ""), {})[cells.get("reading", "")] = None
    return {stage: tuple(names) for stage, names in found.items()}
