"""The tables of a record that a run adds rows to, open while it goes on."""

from __future__ import annotations

from pathlib import Path

from burnin.record.chain import chain_of
from burnin.record.durable import DurableTable
from burnin.record.schema.tables import (
    FAILING_WORDS,
    JOURNAL,
    NOT_READ,
    READINGS,
    SAMPLES,
    SIMULATED,
    TABLES,
    columns,
)

READING_COLUMNS = columns(TABLES[READINGS])
SAMPLE_COLUMNS = columns(TABLES[SAMPLES])
NOT_READ_COLUMNS = columns(TABLES[NOT_READ])
JOURNAL_COLUMNS = columns(TABLES[JOURNAL])


class Tables:
    """The tables of a record that are written row by row, each open to be added to."""

    def __init__(self, folder: Path, *, simulated: bool) -> None:
        self._folder = folder
        self.readings = DurableTable(folder / READINGS, saying(READING_COLUMNS, simulated))
        self.samples = DurableTable(folder / SAMPLES, saying(SAMPLE_COLUMNS, simulated))
        self.not_read = DurableTable(folder / NOT_READ, saying(NOT_READ_COLUMNS, simulated))
        self.journal = DurableTable(folder / JOURNAL, saying(JOURNAL_COLUMNS, simulated))

    def heads(self) -> dict[str, object]:
        """How far every table but the journal has come."""
        words = self._folder / FAILING_WORDS
        raw = words.read_bytes() if words.exists() else None
        return {
            READINGS: self.readings.head.as_plain(),
            SAMPLES: self.samples.head.as_plain(),
            NOT_READ: self.not_read.head.as_plain(),
            FAILING_WORDS: chain_of(FAILING_WORDS, raw).head.as_plain(),
        }

    def close(self) -> None:
        """Close the files."""
        for table in (self.readings, self.samples, self.not_read, self.journal):
            table.close()


def saying(columns_of: tuple[str, ...], simulated: bool) -> tuple[str, ...]:
    """A table's columns; before the last, those of a simulated run have one that says so."""
    return (*columns_of[:-1], SIMULATED, columns_of[-1]) if simulated else columns_of
