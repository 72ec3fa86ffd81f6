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
    RunFinished,
    RunStarted,
    SampleTaken,
    StageFinished,
    StageProgress,
    StageStarted,
)
from burnin.core.meaning import Meaning
from burnin.core.opening import Opening
from burnin.core.plain import plain
from burnin.core.reading import NotMeasured, Reading
from burnin.core.sample import TELEMETRY_NAMES, Sample
from burnin.core.verdict import Ended, RunVerdict, StageVerdict, VerdictReason
from burnin.record.durable import DurableTable, write_json
from burnin.record.meaning_cells import meaning_cells
from burnin.record.schema import FORMAT, RunFile
from burnin.record.sums import RUN_FILE
from burnin.record.tables import (
    JOURNAL,
    NOT_READ,
    READINGS,
    SAMPLES,
    TABLES,
    ValueKind,
    columns,
)

READING_COLUMNS = columns(TABLES[READINGS])
SAMPLE_COLUMNS = columns(TABLES[SAMPLES])
NOT_READ_COLUMNS = columns(TABLES[NOT_READ])
JOURNAL_COLUMNS = columns(TABLES[JOURNAL])


class RecordWriter:
    """Writes a run's events into its folder; goes on with the record that lies there already."""

    name = "record"

    def __init__(self, folder: Path, clock: Clock, start_s: float) -> None:
        """Open the tables; raises RecordError where they are of another format."""
        folder.mkdir(parents=True, exist_ok=True)
        self.folder, self._clock, self._start_s = folder, clock, start_s
        self._readings = DurableTable(folder / READINGS, READING_COLUMNS)
        self._samples = DurableTable(folder / SAMPLES, SAMPLE_COLUMNS)
        self._not_read = DurableTable(folder / NOT_READ, NOT_READ_COLUMNS)
        self._journal = DurableTable(folder / JOURNAL, JOURNAL_COLUMNS)
        self._why_not_read: dict[str, Meaning | None] = (
            {} if self._not_read.begun_before else dict.fromkeys(TELEMETRY_NAMES)
        )
        self._run: dict[str, object] = {}
        self._stages: list[dict[str, object]] = []

    def _elapsed_s(self) -> float:
        return round(self._clock.monotonic_s() - self._start_s, 3)

    def __call__(self, event: Event) -> None:
        """Put one event on disk."""
        if isinstance(event, SampleTaken):
            self._sample(event.sample)
        elif isinstance(event, ReadingTaken):
            now = {"time_utc": iso(self._clock.utc()), "elapsed_s": self._elapsed_s()}
            self._readings.append({**now, **reading_cells(event.reading)})
        elif not isinstance(event, StageProgress):
            self._note(event)
            self._keep(event)

    def _keep(self, event: Event) -> None:
        """What of an event run.json holds."""
        if isinstance(event, RunStarted):
            self._run = _opened(event.opening)
            self._stages = _stages_so_far(self.folder / RUN_FILE, event.run_id)
        elif isinstance(event, StageStarted):
            self._stages = [s for s in self._stages if s["stage"] != event.stage]
            self._stages.append(
                {
                    "stage": event.stage,
                    "kind": event.kind,
                    "own_title": event.own_title,
                    "verdict": StageVerdict.INCOMPLETE,
                    "reasons": [],
                    "started_s": self._elapsed_s(),
                    "ended_s": None,
                    "taken_over": event.taken_over,
                }
            )
        elif isinstance(event, StageFinished):
            for stage in self._stages:
                if stage["stage"] == event.stage:
                    stage.update(
                        verdict=event.verdict,
                        reasons=event.reasons,
                        ended_s=self._elapsed_s(),
                    )
        elif isinstance(event, RunFinished):
            self._run.update(
                verdict=event.verdict,
                reason=event.reason,
                ended=event.ended,
                ended_utc=event.time_utc,
                owed=event.owed,
            )
        else:
            return
        self._run["stages"] = self._stages
        write_json(self.folder / RUN_FILE, self._run)

    def _sample(self, sample: Sample) -> None:
        """The sample, and before it why a value of it cannot be read, where that is new."""
        for name in TELEMETRY_NAMES:
            value = getattr(sample.telemetry, name)
            why = value.reason if isinstance(value, NotMeasured) else None
            if name not in self._why_not_read or self._why_not_read[name] != why:
                self._why_not_read[name] = why
                self._not_read.append(
                    {
                        "elapsed_s": round(sample.elapsed_s, 4),
                        "time_utc": sample.time_utc,
                        "stage": sample.stage,
                        "column": name,
                        **meaning_cells("reason", why),
                    }
                )
        self._samples.append(sample_cells(sample))

    def _note(self, event: Event) -> None:
        detail = {
            f.name: plain(getattr(event, f.name)) for f in fields(event) if f.name != "opening"
        }
        self._journal.append(
            {
                "elapsed_s": self._elapsed_s(),
                "time_utc": iso(self._clock.utc()),
                "event": type(event).__name__,
                "stage": getattr(event, "stage", ""),
                "detail": json.dumps(detail, ensure_ascii=False),
            }
        )

    def close(self) -> None:
        """Close the files."""
        for table in (self._readings, self._samples, self._not_read, self._journal):
            table.close()


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


def _stages_so_far(path: Path, run_id: str) -> list[dict[str, object]]:
    """Stages that an interrupted run has on record already."""
    try:
        content = json.loads(path.read_bytes())
    except (OSError, ValueError):
        return []
    if not isinstance(content, dict) or content.get("run_id") != run_id:
        return []
    stages = content.get("stages")
    return [s for s in stages if isinstance(s, dict)] if isinstance(stages, list) else []


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
    }
