"""Writing so that what was written is on disk: appended rows, and files replaced as a whole."""

from __future__ import annotations

import csv
import io
import json
import os
from collections.abc import Iterable, Mapping
from pathlib import Path

from burnin.core.errors import RecordError
from burnin.core.files.disk import end_of_torn, open_to_append, replace_whole, sync, write_all
from burnin.core.plain import plain
from burnin.core.reading import NotMeasured
from burnin.record import csv_rows
from burnin.record.chain import Head, beginning, chain_of
from burnin.record.reasons import RecordRefusal
from burnin.record.schema.tables import CHAIN

_NOT_IN_A_CELL = str.maketrans("\r\n\0", "   ")
"""A line break inside a cell would let a torn file lose more than its last line."""


class DurableTable:
    """A CSV file that is only ever appended to, one synced row at a time.

    A last column `chain` is filled in here; `head` then says what the chain has come to.
    """

    def __init__(self, path: Path, columns: Iterable[str]) -> None:
        """Open or begin the file; raises RecordError where it holds other columns."""
        self._path, self._columns = path, tuple(columns)
        there = path.read_bytes() if path.exists() else b""
        if b"\n" in there and csv_rows.header(there) != self._columns:
            raise RecordError(RecordRefusal.OTHER_COLUMNS(file=str(path)))
        self.begun_before = b"\n" in there
        self._chained = self._columns[-1] == CHAIN
        self.head = (
            chain_of(path.name, there).head
            if self.begun_before and self._chained
            else beginning(path.name, self._columns)
        )
        self._handle = open_to_append(path)
        if not self.begun_before:
            os.ftruncate(self._handle, 0)  # at most a torn header
            self._write(_line(self._columns))
        elif not there.endswith(b"\n"):
            torn = there[there.rfind(b"\n") + 1 :]
            write_all(self._handle, end_of_torn(torn), path)
            sync(self._handle, path)

    def append(self, row: Mapping[str, object]) -> None:
        """Write one row and wait until the disk has it; raises KeyError on a surplus column."""
        surplus = set(row) - set(self._columns)
        if surplus:
            raise KeyError(f"no such column: {', '.join(sorted(surplus))}")
        if not self._chained:
            self._write(_line(cell(row.get(name)) for name in self._columns))
            return
        body = _line(cell(row.get(name)) for name in self._columns[:-1])
        after: Head = self.head.after(body)
        self._write(body + b"," + after.check.encode(), after)

    def _write(self, line: bytes, after: Head | None = None) -> None:
        write_all(self._handle, line + b"\n", self._path)
        # What lies in the file is part of the chain, whether or not the disk says that it has it.
        self.head = after or self.head
        sync(self._handle, self._path)

    def close(self) -> None:
        """Close the file."""
        os.close(self._handle)


def _line(cells: Iterable[str]) -> bytes:
    """Cells as a line of a CSV file, without its end."""
    line = io.StringIO()
    csv.writer(line, lineterminator="").writerow(tuple(cells))
    return line.getvalue().encode("utf-8", "replace")


def cell(value: object) -> str:
    """A value as a cell holds it; a number to the last digit, so that it is judged anew alike."""
    if value is None or isinstance(value, NotMeasured):
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return repr(value).removesuffix(".0")
    if isinstance(value, tuple):
        return "; ".join(str(part) for part in value).translate(_NOT_IN_A_CELL)
    return str(value).translate(_NOT_IN_A_CELL)


def write_json(path: Path, content: object) -> None:
    """Replace a JSON file as a whole: after a power cut the old or the new one is there."""
    text = json.dumps(plain(content), indent=1, ensure_ascii=False) + "\n"
    replace_whole(path, text.encode("utf-8", "replace"))
