"""A run's folder: append-only tables, each row on disk before the next decision depends on it.

The writer is the one sink of the run's events that is waited for. A reader of a torn file loses at
most its last line. The format is described in results/README.md.
"""

from __future__ import annotations

import json
from dataclasses import fields
from pathlib import Path

from burnin.core.clock import Clock, iso
from burnin.core.events import (
    Event,
    ReadingTaken,
    RunStarted,
    SampleTaken,
    StageProgress,
)
from burnin.core.files.disk import clear_passing, sync_folder_and_above
from burnin.core.files.private_files import private_folder
from burnin.core.meaning import Meaning
from burnin.core.opening import Opening
from burnin.core.plain import plain
from burnin.core.reading import NotMeasured, Reading
from burnin.core.sample import TELEMETRY_NAMES, Sample
from burnin.core.verdict import Ended, RunVerdict, VerdictReason
from burnin.record import csv_rows
from burnin.record.chain import HEADED, HEADS
from burnin.record.durable import write_json
from burnin.record.journal import entry_of
from burnin.record.meaning_cells import meaning_cells
from burnin.record.open_tables import Tables
from burnin.record.run_state import OPENING, RunState, opening_sha256
from burnin.record.schema.run import FORMAT, RunFile
from burnin.record.schema.tables import JOURNAL, TABLES, JournalRow, ValueKind
from burnin.record.sums import RUN_FILE
from burnin.record.table_file import BAD_CELLS


class RecordWriter:
    """Writes a run's events into its folder; goes on with the record that lies there already.

    A new record is begun by its run.json, so that whatever is there can be read; its tables follow.
    Once the system would not write something, nothing is written any more: a record that lost a row
    never gets an end, and so no verdict.
    """

    name = "record"

    def __init__(
        self, folder: Path, clock: Clock, start_s: float, *, simulated: bool = False
    ) -> None:
        """Open the tables; raises RecordError where they are of another format, and OSError.

        Those of a `simulated` run have an empty column that says so.
        """
        private_folder(folder)
        self.folder, self._clock, self._start_s = folder, clock, start_s
        self._simulated = simulated
        self._run: dict[str, object] = {}
        self._tables: Tables | None = None
        self._refused: OSError | None = None
        self._state = _state_so_far(folder / JOURNAL)
        clear_passing(folder)
        if any((folder / name).exists() for name in TABLES):
            self._tables = self._opened()

    def _opened(self) -> Tables:
        tables = Tables(self.folder, simulated=self._simulated)
        sync_folder_and_above(self.folder)
        self._why_not_read: dict[str, Meaning | None] = (
            {} if tables.not_read.begun_before else dict.fromkeys(TELEMETRY_NAMES)
        )
        return tables

    def _elapsed_s(self) -> float:
        return round(self._clock.monotonic_s() - self._start_s, 3)

    def __call__(self, event: Event) -> None:
        """Put one event on disk; raises OSError, and from then on the same for every event."""
        if self._refused is not None:
            raise self._refused
        try:
            self._put(event)
        except OSError as error:
            self._refused = error
            raise

    def _put(self, event: Event) -> None:
        if self._tables is None:
            if isinstance(event, RunStarted):
                write_json(self.folder / RUN_FILE, _opened(event.opening))
            self._tables = self._opened()
        if isinstance(event, SampleTaken):
            self._sample(self._tables, event.sample)
        elif isinstance(event, ReadingTaken):
            now = {"time_utc": iso(self._clock.utc()), "elapsed_s": self._elapsed_s()}
            self._tables.readings.append({**now, **reading_cells(event.reading)})
        elif not isinstance(event, StageProgress):
            self._note(self._tables, event)

    def _keep(self, event: Event, elapsed_s: float, detail: dict[str, object]) -> None:
        """Write run.json anew where the event changes what it says of the run's course."""
        if isinstance(event, RunStarted):
            self._run = _opened(event.opening)
        if self._state.apply(type(event).__name__, elapsed_s, detail):
            content = {**self._run, **self._state.end, "stages": self._state.stages}
            write_json(self.folder / RUN_FILE, content)

    def _sample(self, tables: Tables, sample: Sample) -> None:
        """The sample, and before it why a value of it cannot be read, where that is new."""
        for name in TELEMETRY_NAMES:
            value = getattr(sample.telemetry, name)
            why = value.reason if isinstance(value, NotMeasured) else None
            if name not in self._why_not_read or self._why_not_read[name] != why:
                self._why_not_read[name] = why
                tables.not_read.append(
                    {
                        "elapsed_s": round(sample.elapsed_s, 4),
                        "time_utc": sample.time_utc,
                        "stage": sample.stage,
                        "column": name,
                        **meaning_cells("reason", why),
                    }
                )
        tables.samples.append(sample_cells(sample))

    def _note(self, tables: Tables, event: Event) -> None:
        elapsed_s, name = self._elapsed_s(), type(event).__name__
        detail: dict[str, object] = {
            f.name: plain(getattr(event, f.name)) for f in fields(event) if f.name != "opening"
        }
        if isinstance(event, RunStarted):
            detail["simulated"] = event.opening.simulated
            detail[OPENING] = opening_sha256(_as_written(_opened(event.opening)))
        if name in HEADED:
            detail[HEADS] = tables.heads()
        detail = _as_written(detail)
        tables.journal.append(
            {
                "elapsed_s": elapsed_s,
                "time_utc": iso(self._clock.utc()),
                "event": name,
                "stage": getattr(event, "stage", ""),
                "detail": json.dumps(detail, ensure_ascii=False),
            }
        )
        self._keep(event, elapsed_s, detail)

    def close(self) -> None:
        """Close the files."""
        if self._tables is not None:
            self._tables.close()


def _opened(opening: Opening) -> dict[str, object]:
    """run.json as a run opens with it, its keys in the order of the schema."""
    content: dict[str, object] = {
        **{f.name: getattr(opening, f.name) for f in fields(opening)},
        "format": FORMAT,
        "ended_utc": "",
        "simulated": opening.simulated,
        "stages": [],
        "verdict": RunVerdict.INCOMPLETE,
        "reason": VerdictReason.NOT_AT_ITS_END(),
        "ended": Ended.NOT_YET,
        "owed": [],
    }
    known = {name: content.pop(name) for name in RunFile.model_fields if name in content}
    return {**known, **content}


def _as_written(content: object) -> dict[str, object]:
    """What a reader will find of it."""
    text = json.dumps(plain(content), ensure_ascii=False).encode("utf-8", "replace")
    found = json.loads(text)
    assert isinstance(found, dict)
    return found


def _state_so_far(journal: Path) -> RunState:
    """The course of an interrupted run, out of its own journal."""
    state = RunState()
    for _, cells in csv_rows.rows(journal.read_bytes() if journal.exists() else b""):
        try:
            entry = entry_of(JournalRow.model_validate(cells or {}))
        except BAD_CELLS:
            continue
        state.apply(entry.event, entry.elapsed_s, entry.detail)
    return state


def sample_cells(sample: Sample) -> dict[str, object]:
    """A sample as a line of samples.csv."""
    telemetry = sample.telemetry
    row: dict[str, object] = {name: getattr(telemetry, name) for name in TELEMETRY_NAMES}
    row.update(
        elapsed_s=round(sample.elapsed_s, 4),
        time_utc=sample.time_utc,
        stage=sample.stage,
        load_share=round(sample.load_share, 5),
        load_w=sample.load_w,
        read_s=round(sample.read_s, 6),
        present=sample.present,
        period_s=None if sample.period_s is None else round(sample.period_s, 6),
        late_s=None if sample.late_s is None else round(sample.late_s, 6),
        flaws="; ".join(sample.flaws),
    )
    return row


def reading_cells(reading: Reading) -> dict[str, object]:
    """A reading as a line of readings.csv."""
    limit, value = reading.limit, reading.value
    kind = None
    if value is not None:
        kind = ValueKind.WORD if isinstance(value, str) else ValueKind.NUMBER
    return {
        "stage": reading.stage,
        "reading": reading.name,
        "value": value,
        "value_kind": kind,
        "unit": reading.unit,
        "uncertainty": reading.uncertainty,
        "lower_limit": limit.lower if limit else None,
        "upper_limit": limit.upper if limit else None,
        "allowed": " | ".join(reading.allowed),
        "verdict": reading.verdict,
        "required": reading.required,
        **meaning_cells("reason", reading.reason),
        **meaning_cells("source", reading.source),
        **meaning_cells("rule", reading.rule),
    }
