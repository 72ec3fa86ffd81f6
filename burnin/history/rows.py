"""Rows in the memory that databases and files share."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from functools import cache

import pyarrow as pa

from burnin.history.columns import Kind
from burnin.history.tables import Table

_ARROW = {
    Kind.TEXT: pa.string(),
    Kind.WHOLE: pa.int64(),
    Kind.NUMBER: pa.float64(),
    Kind.TRUTH: pa.bool_(),
    Kind.MOMENT: pa.timestamp("us"),
    Kind.PLAIN: pa.string(),
}
Rows = Sequence[Mapping[str, object]]
UNFIT = (pa.ArrowInvalid, pa.ArrowTypeError, OverflowError, UnicodeEncodeError)
"""What `arrow` and `look_at_cells` raise for a value that no column of its kind can hold."""
_FITS: Mapping[Kind, type] = {
    Kind.TEXT: str, Kind.PLAIN: str, Kind.WHOLE: int, Kind.NUMBER: float, Kind.TRUTH: bool,
    Kind.MOMENT: datetime,
}  # fmt: skip
_MOST_WHOLE = 1 << 63


@cache
def arrow_schema(table: Table) -> pa.Schema:
    """A table's columns with their types."""
    return pa.schema([(column.name, _ARROW[column.kind]) for column in table.columns])


def arrow(table: Table, rows: Rows) -> pa.Table:
    """Rows as a table; raises one of `UNFIT`."""
    schema = arrow_schema(table)
    columns = [pa.array([row.get(f.name) for row in rows], f.type) for f in schema]
    return pa.Table.from_arrays(columns, schema=schema)


@cache
def _kinds(table: Table) -> Mapping[str, type]:
    return {column.name: _FITS[column.kind] for column in table.columns}


def look_at_cells(table: Table, rows: Rows) -> None:
    """Raise one of `UNFIT` for a cell that some database has no place for.

    A zero byte stands in no text of PostgreSQL's, a surrogate in none at all.
    """
    kinds = _kinds(table)
    for row in rows:
        for name, cell in row.items():
            if cell is None:
                continue
            if type(cell) is not kinds[name]:
                raise pa.ArrowTypeError(f"{name}: {cell!r}")
            if isinstance(cell, str):
                if "\0" in cell:
                    raise pa.ArrowInvalid(f"{name}: a zero byte in a text")
                if not cell.isascii():
                    cell.encode()
            elif isinstance(cell, int) and not -_MOST_WHOLE <= cell < _MOST_WHOLE:
                raise OverflowError(f"{name}: {cell}")
