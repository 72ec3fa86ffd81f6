"""A record, read back from its folder: the only source of sheet, explanation, replay and resume.

Format of the files: results/README.md. A record cut off by a power failure is read as far as its
last whole line; `Record.condition` says what is missing. An older format is read through
`migrations.py`; `Record.untyped` says what of its words could not be given a meaning.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import cached_property
from pathlib import Path
from typing import Any, TypeVar

from burnin.core.events import RunStarted, TrafficSummed
from burnin.core.files.bounded import read_at_most
from burnin.core.reading import Reading, Verdict
from burnin.core.sample import Sample
from burnin.record.attempts import rows_before_last_attempt, rows_of_attempts
from burnin.record.condition import Condition, condition_of
from burnin.record.csv_rows import whole_lines
from burnin.record.journal import JournalEntry, entry_of
from burnin.record.migrations import needed_columns
from burnin.record.of_another_run import of_another_run
from burnin.record.own_evidence import against_journal, edited_rows, is_chained, stages_told
from burnin.record.readings import latest, reading_of
from burnin.record.run_file import read_run, read_run_file
from burnin.record.samples import NotReadFrom, Series, not_read_of, samples_of, series_of
from burnin.record.schema.listed_words import ListedWord, listed_words
from burnin.record.schema.most_bytes import look_at_sizes, most_bytes_of
from burnin.record.schema.run import FORMAT, RunFile, StageRow
from burnin.record.schema.tables import (
    FAILING_WORDS,
    JOURNAL,
    MAY_BE_MISSING,
    NOT_READ,
    READINGS,
    SAMPLES,
    TABLES,
    FailingWordRow,
    Row,
    SampleRow,
)
from burnin.record.sums import data_sha256_of, differences, listed_sums, sha256
from burnin.record.table_file import TableFile, typed_table

__all__ = ["Record", "read_record", "read_run"]

T = TypeVar("T")


class Record:
    """All that a record holds; a table is read when it is first asked for, each file once.

    `format_read` is the format that the files are in; what is given here is the newest.
    """

    def __init__(
        self, folder: Path, run: RunFile, format_read: int, untyped: tuple[str, ...]
    ) -> None:
        self.folder, self.run, self.format_read = folder, run, format_read
        self._untyped = list(untyped)
        self._raw: dict[str, bytes | None] = {}

    @cached_property
    def all_readings(self) -> tuple[Reading, ...]:
        """Every reading, in the order in which it was judged."""
        return tuple(self._readings.whole())

    @cached_property
    def readings(self) -> tuple[Reading, ...]:
        """The last row of each reading of a stage, and every one that failed."""
        return latest(self.all_readings)

    def readings_of(self, stage: str) -> tuple[Reading, ...]:
        """The readings that a stage's verdict stands on: those of its last attempt, all of them.

        What failed in an earlier attempt counts too. Where no chain tells attempts apart, the last
        row of each reading.
        """
        begun = rows_before_last_attempt(self.journal, stage, READINGS)
        if begun is None:
            return tuple(r for r in self.readings if r.stage == stage)
        return tuple(
            reading
            for place, reading in enumerate(self.all_readings)
            if reading.stage == stage and (place >= begun or reading.verdict is Verdict.FAIL)
        )

    def samples(self) -> Iterator[Sample]:
        """The samples in their order, as guards saw them."""
        return samples_of(self._samples.whole(), self._not_read.whole())

    @cached_property
    def series(self) -> Series:
        """The samples column by column."""
        return series_of(self._samples.whole())

    @cached_property
    def journal(self) -> tuple[JournalEntry, ...]:
        """Every event of the run but its samples, readings and progress."""
        return tuple(self._journal.whole())

    @cached_property
    def failing_words(self) -> tuple[FailingWordRow, ...]:
        """Memory words that read back wrong."""
        return tuple(self._failing_words.whole())

    def failing_words_of(self, stage: str) -> tuple[FailingWordRow, ...]:
        """Memory words that read back wrong while a stage was carried out, in every attempt."""
        parts = rows_of_attempts(self.journal, stage, FAILING_WORDS)
        return tuple(word for part in parts for word in self.failing_words[part])

    @cached_property
    def listed_words(self) -> tuple[ListedWord, ...]:
        """As `failing_words`, each as plain cells: many times as fast where there are many."""
        needed = needed_columns(FAILING_WORDS, self.format_read)
        return listed_words(self._bytes(FAILING_WORDS), needed)

    def listed_words_of(self, stage: str) -> tuple[ListedWord, ...]:
        """As `failing_words_of`, each as plain cells."""
        parts = rows_of_attempts(self.journal, stage, FAILING_WORDS)
        return tuple(word for part in parts for word in self.listed_words[part])

    def events(self, name: str) -> tuple[JournalEntry, ...]:
        """Entries of one class of event, in order of time."""
        return tuple(entry for entry in self.journal if entry.event == name)

    @property
    def last_start(self) -> int:
        """Place in the journal of the last start: a resumed run has more than one."""
        starts = [n for n, entry in enumerate(self.journal) if entry.event == RunStarted.__name__]
        return starts[-1] if starts else 0

    @property
    def planned(self) -> tuple[str, ...]:
        """Names of the stages that the run set out to do, as far as the journal tells."""
        starts = self.events(RunStarted.__name__)
        stages = starts[-1].detail.get("stages") if starts else None
        return tuple(str(name) for name in stages) if isinstance(stages, list) else ()

    @property
    def traffic(self) -> Mapping[str, TrafficSummed]:
        """The last sums of link traffic of each stage that told some."""
        found = (entry.traffic() for entry in self.events(TrafficSummed.__name__))
        return {sums.stage: sums for sums in found if sums is not None}

    @property
    def last_elapsed_s(self) -> float:
        """The newest elapsed_s of samples and journal, 0 where there is none."""
        moments = (*self.series.elapsed_s, *(entry.elapsed_s for entry in self.journal))
        return max(moments, default=0.0)

    @cached_property
    def condition(self) -> Condition:
        """What is missing, torn, damaged, edited or foreign."""
        listed = listed_sums(self.folder)
        by_sums = differences(listed, self._bytes) if listed is not None else ()
        tables: tuple[TableFile[Any], ...] = (
            self._readings, self._samples, self._not_read, self._journal, self._failing_words,
        )  # fmt: skip
        return condition_of(
            (table.flaws(self.run.resumed) for table in tables),
            (*by_sums, *(edited_rows(self._bytes, self.journal) if self.chained else ())),
            of_another_run(self.run, self.journal, self.planned, self._stages_in_tables()),
            against_journal(self._bytes, self.run, self.journal) if self.chained else (),
            vouched=listed is not None,
            chained=self.chained,
        )

    def _stages_in_tables(self) -> dict[str, Iterator[str]]:
        readings = (reading.stage for reading in self.all_readings)
        return {READINGS: readings, SAMPLES: iter(self.series.stages)}

    @cached_property
    def chained(self) -> bool:
        """Whether the rows carry a chain; that of one table alone is a chain too, and a broken one.

        An older version of this tool wrote none.
        """
        return is_chained(self._bytes)

    @property
    def stages(self) -> tuple[StageRow, ...]:
        """Stages that began, as the journal tells them; of a record without a chain, run.json's."""
        return stages_told(self.journal) if self.chained else self.run.stages

    @cached_property
    def untyped(self) -> tuple[str, ...]:
        """Places whose meaning an older format held in words only."""
        if self.format_read == self.run.format:
            return ()
        for table in (self._readings, self._journal):
            list(table.rows())
        return tuple(dict.fromkeys(self._untyped))

    def sha256(self, name: str) -> str:
        """SHA-256 of one of the record's data files in hexadecimal, empty where it is missing."""
        raw = self._bytes(name)
        return "" if raw is None else sha256(raw)

    @property
    def data_sha256(self) -> str:
        """One SHA-256 over all measured files, as `sums.data_sha256` gives it."""
        return data_sha256_of(self._bytes)

    def rows(self, table: str) -> Iterator[Row]:
        """The whole lines of a table in their order, as its model has them in today's format."""
        return self._table(table, _as_it_is).whole()

    def _bytes(self, name: str) -> bytes | None:
        """A file, read once, so that all is judged from the same bytes."""
        if name not in self._raw:
            try:
                self._raw[name] = read_at_most(self.folder / name, most_bytes_of(name))
            except (OSError, ValueError):
                self._raw[name] = None
        return self._raw[name]

    def _table(self, name: str, read: Callable[[Any], T]) -> TableFile[T]:
        return typed_table(
            name, self._bytes(name), self.format_read, read, self._untyped,
            may_be_missing=self._may_be_missing(name),
        )  # fmt: skip

    def _may_be_missing(self, name: str) -> bool:
        """Whether a record is whole without this file: run.json is on disk before any table is."""
        rows = (row for table in TABLES for row in whole_lines(self._bytes(table) or b""))
        begun = self.run.stages or self.run.ended or next(rows, None)
        return name in MAY_BE_MISSING or (self.format_read == FORMAT and not begun)

    @property
    def _readings(self) -> TableFile[Reading]:
        return self._table(READINGS, reading_of)

    @property
    def _samples(self) -> TableFile[SampleRow]:
        return self._table(SAMPLES, _as_it_is)

    @property
    def _not_read(self) -> TableFile[NotReadFrom]:
        return self._table(NOT_READ, not_read_of)

    @property
    def _journal(self) -> TableFile[JournalEntry]:
        return self._table(JOURNAL, entry_of)

    @property
    def _failing_words(self) -> TableFile[FailingWordRow]:
        return self._table(FAILING_WORDS, _as_it_is)


def _as_it_is(row: T) -> T:
    return row


def read_record(folder: Path) -> Record:
    """Read a record's folder.

    Raises RecordError if run.json is missing, damaged or of a format not known here, or a file is
    larger than any run leaves it; others may be missing, torn, edited or foreign (`condition`).
    """
    found = read_run_file(folder)
    look_at_sizes(folder)
    return Record(folder, found.run, found.format_read, found.untyped)
