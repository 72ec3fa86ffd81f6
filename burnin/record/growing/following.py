"""A record read while it grows: what came since the last look, each line once.

The files are only ever appended to, and a line counts only when it is whole (`csv_rows.py`): what a
look finds at the end of a file without a line break is left for the next. A file that became
shorter is another one, and all is read anew. Sheet, replay and resume read a record as a whole
(`reader.py`), through the same tables.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Generic, TypeVar

from burnin.core.errors import RecordError
from burnin.core.reading import Reading
from burnin.core.system import cannot_read
from burnin.record.journal import JournalEntry, entry_of
from burnin.record.readings import reading_of
from burnin.record.run_file import RunRead, read_run_file
from burnin.record.samples import NotReadFrom, not_read_of
from burnin.record.schema.run import RunFile
from burnin.record.schema.tables import JOURNAL, NOT_READ, READINGS, SAMPLES, SampleRow
from burnin.record.sums import RUN_FILE
from burnin.record.table_file import typed_table

T = TypeVar("T")
PART_BYTES = 1 << 20
"""Most of a file that one look takes in, so that a long record never keeps others waiting."""
MOST_LINE_BYTES = PART_BYTES // 2
"""A line that is longer is none that a run writes; it is passed over."""


@dataclass(frozen=True)
class News:
    """What a look found; `anew`: all that was told before is void. `more`: look again at once.

    `run`: run.json, where it was written anew since the last look.
    """

    anew: bool = False
    run: RunFile | None = None
    entries: Sequence[JournalEntry] = ()
    readings: Sequence[Reading] = ()
    samples: Sequence[SampleRow] = ()
    not_read: Sequence[NotReadFrom] = ()
    more: bool = False

    @property
    def some(self) -> bool:
        """Whether there is any."""
        told = (self.run, self.entries, self.readings, self.samples, self.not_read)
        return self.anew or any(told)


class FollowedRecord:
    """A record's folder, and how far it was read."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._stamp: tuple[int, int] | None = None
        self._format = 0
        self._begin()

    def _begin(self) -> None:
        self._journal = _Tail(self.folder / JOURNAL, entry_of)
        self._readings = _Tail(self.folder / READINGS, reading_of)
        self._samples = _Tail(self.folder / SAMPLES, _as_it_is)
        self._not_read = _Tail(self.folder / NOT_READ, not_read_of)

    def look(self) -> News:
        """What came since the last look; raises RecordError where run.json cannot be read."""
        tails = (self._journal, self._readings, self._samples, self._not_read)
        anew = any(tail.shrank() for tail in tails)
        if anew:
            self._begin()
        found = self._run()
        if found is not None:
            self._format = found.format_read
        if not self._format:
            return News(anew)
        # What a sample lacks is on record before it, and a verdict after its readings.
        entries, more_entries = self._journal.look(self._format)
        readings, more_readings = self._readings.look(self._format)
        samples, more_samples = self._samples.look(self._format)
        not_read, more_not_read = self._not_read.look(self._format)
        return News(
            anew, None if found is None else found.run, entries, readings, samples, not_read,
            any((more_entries, more_readings, more_samples, more_not_read)),
        )  # fmt: skip

    def _run(self) -> RunRead | None:
        """run.json where it is another than at the last look."""
        try:
            found = (self.folder / RUN_FILE).stat()
        except OSError as error:
            raise RecordError(cannot_read(self.folder / RUN_FILE, error)) from error
        stamp = (found.st_ino, found.st_mtime_ns)
        if stamp == self._stamp:
            return None
        read = read_run_file(self.folder)
        self._stamp = stamp
        return read


class _Tail(Generic[T]):
    """One table: its header, and how many bytes of it were read."""

    def __init__(self, path: Path, read: Callable[[Any], T]) -> None:
        self._path, self._read = path, read
        self._header = b""
        self._at = 0

    def shrank(self) -> bool:
        """Whether the file is shorter than what was read of it, or gone."""
        try:
            return self._path.stat().st_size < self._at
        except OSError:
            return self._at > 0

    def look(self, format_read: int) -> tuple[list[T], bool]:
        """Lines that are whole since the last look, and whether more of them lie there."""
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
        raw = self._header + part[:whole]
        table = typed_table(self._path.name, raw, format_read, self._read, [])
        return list(table.whole()), more

    def _part(self) -> tuple[bytes, bool]:
        try:
            # Not blocking: a named pipe that nobody writes would be waited for for ever.
            handle = os.open(self._path, os.O_RDONLY | os.O_CLOEXEC | os.O_NONBLOCK)
        except OSError:
            return b"", False
        try:
            part = os.pread(handle, PART_BYTES, self._at)
        except OSError:
            part = b""
        finally:
            os.close(handle)
        return part, len(part) == PART_BYTES


def _as_it_is(row: SampleRow) -> SampleRow:
    return row
