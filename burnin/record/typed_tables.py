"""A table's bytes as typed lines, whatever the format that they are in."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from burnin.record.migrations import needed_columns, row_in_new_format
from burnin.record.schema.tables import TABLES
from burnin.record.table_file import TableFile

T = TypeVar("T")


def typed_table(
    name: str,
    raw: bytes | None,
    format_read: int,
    read: Callable[[Any], T],
    untyped: list[str],
    *,
    may_be_missing: bool = False,
) -> TableFile[T]:
    """The table `name` of a record in `format_read`; `read` gets the model of each line.

    `untyped` takes the places whose meaning the format held in words only.
    """
    model, folder = TABLES[name], f"{name} line"

    def convert(number: int, cells: dict[str, str]) -> T:
        fresh = row_in_new_format(name, cells, format_read, f"{folder} {number}", untyped)
        return read(model.model_validate(fresh))

    return TableFile(name, raw, needed_columns(name, format_read), convert, may_be_missing)
