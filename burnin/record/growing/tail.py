"""One table of a record that grows: how far it was read, and its lines from there on."""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, Generic, TypeVar

from burnin.core.files.disk import read_at
from burnin.core.files.open_flags import BINARY, CLOEXEC, NONBLOCK
from burnin.record import csv_rows
from burnin.record.schema.tables import JOURNAL, NOT_READ, READINGS, SAMPLES
from burnin.record.table_file import typed_table

T = TypeVar("T")
PART_BYTES = 1 << 20
"""Most of a file that one look takes in, so that a long record never keeps others waiting."""
MOST_LINE_BYTES = PART_BYTES // 2
"""A line that is longer is none that a run writes; it is passed over."""
END_BYTES = {JOURNAL: PART_BYTES, READINGS: PART_BYTES, NOT_READ: PART_BYTES, SAMPLES: 1 << 16}
"""Of each table, what is read of a record that is opened at its ends: of samples the last hundreds,
of the journal the last quarter of an hour at least."""
Point = tuple[float, tuple[float | None, ...]]
"""Elapsed seconds of a sample, and its values in the columns that were asked for."""


class Tail(Generic[T]):
    """One table: its header, and how many bytes of it were read.

    `points`: those of the last look, where `columns` are asked for.
    """

    def __init__(
        self, path: Path, read: Callable[[Any], T], columns: tuple[str, ...] = ()
    ) -> None:
        self._path, self._read, self._columns = path, read, columns
        self._header = b""
        self._at = 0
        self.passed_over = False
        self.points: list[Point] = []

    @property
    def name(self) -> str:
        """Name of the file."""
        return self._path.name

    def sizes(self) -> tuple[int, int]:
        """Bytes that were read, and bytes that there are."""
        try:
            return self._at, max(self._at, self._path.stat().st_size)
        except OSError:
            return self._at, self._at

    def pass_over_begin(self) -> None:
        """Go on at the first whole line of the table's end."""
        size, most = self.sizes()[1], END_BYTES[self.name]
        head = self._part()[0] if size > most else b""
        end = head.find(b"\n") + 1
        if not end or size - most <= end:
            return
        self._header, self._at = head[:end], size - most
        # Whether a line begins just there nobody knows: what stands up to the next break is left.
        self._at += self._part()[0].find(b"\n") + 1
        self.passed_over = True

    def shrank(self) -> bool:
        """Whether the file is shorter than what was read of it, or gone."""
        try:
            return self._path.stat().st_size < self._at
        except OSError:
            return self._at > 0

    def look(self, format_read: int) -> tuple[list[T], bool]:
        """Lines that are whole since the last look, and whether more of them lie there.

        Where columns are asked for, they go to `points`, and the last line alone is given.
        """
        self.points = []
        part, more = self._part()
        if not self._header:
            end = part.find(b"\n") + 1
            if not end:
                return [], False
            self._header, part = part[:end], part[end:]
            self._at = end
        whole = part.rfind(b"\n") + 1
        if not whole:
            if len(part) > MOST_LINE_BYTES:
                self._at += len(part)
            return [], more and len(part) > MOST_LINE_BYTES
        self._at += whole
        lines = part[:whole]
        if self._columns:
            self.points = list(_points(self._header + lines, self._columns))
            last = self._typed(lines[lines.rfind(b"\n", 0, -1) + 1 :], format_read)
            return last or self._typed(lines, format_read)[-1:], more
        return self._typed(lines, format_read), more

    def _typed(self, lines: bytes, format_read: int) -> list[T]:
        raw = self._header + lines
        return list(typed_table(self._path.name, raw, format_read, self._read, []).whole())

    def _part(self) -> tuple[bytes, bool]:
        try:
            # Not blocking: a named pipe that nobody writes would be waited for for ever.
            handle = os.open(self._path, os.O_RDONLY | CLOEXEC | NONBLOCK | BINARY)
        except OSError:
            return b"", False
        try:
            part = read_at(handle, PART_BYTES, self._at)
        except OSError:
            part = b""
        finally:
            os.close(handle)
        return part, len(part) == PART_BYTES


def _points(raw: bytes, columns: tuple[str, ...]) -> Iterator[Point]:
    """These columns of every whole line; a column that the table lacks is empty."""
    names = csv_rows.header(raw)
    if "elapsed_s" not in names:
        return
    at = names.index("elapsed_s")
    places = [names.index(name) if name in names else None for name in columns]
    for cells in csv_rows.whole_cells(raw):
        try:
            moment_s = float(cells[at])
            values = tuple(
                float(cells[place]) if place is not None and cells[place] else None
                for place in places
            )
        except ValueError:
            continue
        if math.isfinite(moment_s):
            yield moment_s, values
