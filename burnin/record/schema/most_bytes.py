"""How large a record's files may be: far more than a run leaves, looked at before one is read."""

from __future__ import annotations

from pathlib import Path

from burnin.core.errors import RecordError
from burnin.core.files.bounded import size_within
from burnin.core.system import cannot_read
from burnin.record.schema.tables import SAMPLES, TABLES

_MIB = 1 << 20
_SAMPLES_BYTES = 512 * _MIB
"""Thirty hours at 20 samples a second, of 250 bytes a row; read row by row."""
_TABLE_BYTES = 64 * _MIB
"""Of any other table; the longest run so far left 3 MiB of journal."""


def most_bytes_of(name: str) -> int:
    """Most bytes that a file of a record is read of."""
    return _SAMPLES_BYTES if name == SAMPLES else _TABLE_BYTES


def look_at_sizes(folder: Path) -> None:
    """Raise RecordError for a table that is larger than any run leaves it, or is no file at all."""
    for name in TABLES:
        path = folder / name
        try:
            size_within(path, most_bytes_of(name))
        except FileNotFoundError:
            continue  # missing is told by the record's condition
        except OSError as error:
            raise RecordError(cannot_read(path, error)) from None
