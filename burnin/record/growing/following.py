"""A record read while it grows: what came since the last look, each line once.

The files are only ever appended to, and a line counts only when it is whole (`csv_rows.py`): what a
look finds at the end of a file without a line break is left for the next. A file that became
shorter is another one, and all is read anew. Sheet, replay and resume read a record as a whole
(`reader.py`), through the same tables.

A record of hours is opened at the ends of its tables where only its last state is asked for
(`at_ends`), and a follower that is asked for `columns` takes these of every sample as bare numbers,
which costs a tenth of a whole row.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from burnin.core.errors import RecordError
from burnin.core.reading import Reading
from burnin.core.system import cannot_read
from burnin.record.growing.tail import Point, Tail
from burnin.record.journal import JournalEntry, entry_of
from burnin.record.readings import reading_of
from burnin.record.run_file import RunRead, read_run_file
from burnin.record.samples import NotReadFrom, not_read_of
from burnin.record.schema.run import RunFile
from burnin.record.schema.tables import JOURNAL, NOT_READ, READINGS, SAMPLES, SampleRow
from burnin.record.sums import RUN_FILE


@dataclass(frozen=True)
class News:
    """What a look found; `anew`: all that was told before is void. `more`: look again at once.

    `run`: run.json, where it was written anew since the last look. `points` are told where columns
    were asked for; `samples` then holds the last row alone.
    """

    anew: bool = False
    run: RunFile | None = None
    entries: Sequence[JournalEntry] = ()
    readings: Sequence[Reading] = ()
    samples: Sequence[SampleRow] = ()
    not_read: Sequence[NotReadFrom] = ()
    points: Sequence[Point] = ()
    more: bool = False

    @property
    def some(self) -> bool:
        """Whether there is any."""
        told = (self.run, self.entries, self.readings, self.samples, self.not_read, self.points)
        return self.anew or any(told)


class FollowedRecord:
    """A record's folder, and how far it was read."""

    def __init__(
        self, folder: Path, *, columns: Sequence[str] = (), at_ends: bool = False
    ) -> None:
        """`at_ends`: of tables that are longer than `END_BYTES` only the end is read."""
        self.folder = folder
        self._columns, self._at_ends = tuple(columns), at_ends
        self._stamp: tuple[int, int] | None = None
        self._format = 0
        self._begin()

    def _begin(self) -> None:
        self._journal = Tail(self.folder / JOURNAL, entry_of)
        self._readings = Tail(self.folder / READINGS, reading_of)
        self._samples = Tail(self.folder / SAMPLES, _as_it_is, self._columns)
        self._not_read = Tail(self.folder / NOT_READ, not_read_of)
        if self._at_ends:
            for tail in self._tails():
                tail.pass_over_begin()

    def _tails(
        self,
    ) -> tuple[Tail[JournalEntry], Tail[Reading], Tail[SampleRow], Tail[NotReadFrom]]:
        return self._journal, self._readings, self._samples, self._not_read

    @property
    def passed_over(self) -> frozenset[str]:
        """Names of the tables of which only the end was read."""
        return frozenset(tail.name for tail in self._tails() if tail.passed_over)

    def read_share(self) -> float:
        """How much of the tables was read, 0 to 1."""
        sizes = [tail.sizes() for tail in self._tails()]
        whole = sum(size for _, size in sizes)
        return min(1.0, sum(read for read, _ in sizes) / whole) if whole else 1.0

    def look(self) -> News:
        """What came since the last look; raises RecordError where run.json cannot be read."""
        anew = any(tail.shrank() for tail in self._tails())
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
            self._samples.points,
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


def _as_it_is(row: SampleRow) -> SampleRow:
    return row
