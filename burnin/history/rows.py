"""Rows in the memory that databases and files share."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
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
"""What `arrow` raises for a value that no column of its kind can hold."""


@cache
def arrow_schema(table: Table) -> pa.Schema:
    """A table's columns with their types."""
    return pa.schema([(column.name, _ARROW[column.kind]) for column in table.columns])


def arrow(table: Table, rows: Rows) -> pa.Table:
    """Rows as a table; raises one of `UNFIT`."""
    schema = arrow_schema(table)
    for row in rows:
        if any(isinstance(cell, str) and "\0" in cell for cell in row.values()):
            raise pa.ArrowInvalid("a zero byte in a text")
    columns = [pa.array([row.get(f.name) for row in rows], f.type) for f in schema]
    return pa.Table.from_arrays(columns, schema=schema)
