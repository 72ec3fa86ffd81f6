"""A run's folder: append-only tables, each row on disk before the next decision depends on it.

The writer subscribes to the run's events. A reader of a torn file loses at most its last line.
The format is described in results/README.md.
"""

from __future__ import annotations

import csv
import io
import json
import os
from collections.abc import Iterable, Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
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
from burnin.core.reading import NotMeasured, Reading
from burnin.core.sample import TELEMETRY_NAMES, Sample

READING_COLUMNS = (
    "time_utc",
    "elapsed_s",
    "stage",
    "reading",
    "value",
    "unit",
    "uncertainty",
    "lower_limit",
    "upper_limit",
    "allowed",
    "verdict",
    "required",
    "reason",
    "source",
)
SAMPLE_COLUMNS = (
    "elapsed_s",
    "time_utc",
    "stage",
    "load_share",
    "load_w",
    "read_s",
    "present",
    *TELEMETRY_NAMES,
)
JOURNAL_COLUMNS = ("elapsed_s", "time_utc", "event", "stage", "detail")


def plain(value: object) -> object:
    """A value as JSON can hold it; what was not measured becomes its reason."""
    if isinstance(value, NotMeasured):
        return {"not_measured": value.reason}
    if isinstance(value, Enum):
        return value.value
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, Mapping):
        return {str(k): plain(v) for k, v in value.items()}
    if isinstance(value, bytes):
        return value.hex()
    if isinstance(value, (list, tuple)):
        return [plain(v) for v in value]
    return value


class DurableTable:
    """A CSV file that is only ever appended to, one synced row at a time."""

    def __init__(self, path: Path, columns: Iterable[str]) -> None:
        self._columns = tuple(columns)
        new = not path.exists() or path.stat().st_size == 0
        self._handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o644)
        if new:
            self._write(self._columns)
        elif not path.read_bytes().endswith(b"\n"):
            # A power cut tore the last row: end it, so that the next row stands alone.
            os.write(self._handle, b"\n")

    def append(self, row: Mapping[str, object]) -> None:
        """Write one row and wait until the disk has it; raises KeyError on a surplus column."""
        surplus = set(row) - set(self._columns)
        if surplus:
            raise KeyError(f"no such column: {', '.join(sorted(surplus))}")
        self._write(tuple(_cell(row.get(name)) for name in self._columns))

    def _write(self, cells: tuple[str, ...]) -> None:
        line = io.StringIO()
        csv.writer(line, lineterminator="\n").writerow(cells)
        os.write(self._handle, line.getvalue().encode())
        os.fdatasync(self._handle)

    def close(self) -> None:
        """Close the file."""
        os.close(self._handle)


def _cell(value: object) -> str:
    if value is None or isinstance(value, NotMeasured):
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.10g}"
    if isinstance(value, tuple):
        return "; ".join(str(part) for part in value)
    # A line break inside a cell would let a torn file lose more than its last line.
    return str(value).replace("\r", " ").replace("\n", " ")


class RecordWriter:
    """Writes a run's events into its folder."""

    def __init__(self, folder: Path, clock: Clock, start_s: float) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self.folder, self._clock, self._start_s = folder, clock, start_s
        self._readings = DurableTable(folder / "readings.csv", READING_COLUMNS)
        self._samples = DurableTable(folder / "samples.csv", SAMPLE_COLUMNS)
        self._journal = DurableTable(folder / "journal.csv", JOURNAL_COLUMNS)
        self._facts: dict[str, object] = {}
        self._stages: list[dict[str, object]] = []

    def _elapsed_s(self) -> float:
        return self._clock.monotonic_s() - self._start_s

    def __call__(self, event: Event) -> None:
        """Put one event on disk."""
        if isinstance(event, SampleTaken):
            self._samples.append(_sample_row(event.sample))
            return
        if isinstance(event, ReadingTaken):
            self._readings.append(
                {
                    "time_utc": iso(self._clock.utc()),
                    "elapsed_s": round(self._elapsed_s(), 3),
                    **_reading_row(event.reading),
                }
            )
            return
        if isinstance(event, StageProgress):
            return
        self._journal_row(event)
        if isinstance(event, RunStarted):
            self._facts = dict(event.facts)
            earlier = self._facts.get("stages")
            self._stages = list(earlier) if isinstance(earlier, list) else []
            self._save()
        elif isinstance(event, StageStarted):
            self._stages = [s for s in self._stages if s["stage"] != event.stage]
            self._stages.append(
                {
                    "stage": event.stage,
                    "kind": event.kind,
                    "title": event.title,
                    "verdict": "incomplete",
                    "reason": "",
                    "started_s": round(self._elapsed_s(), 3),
                    "ended_s": None,
                }
            )
            self._save()
        elif isinstance(event, StageFinished):
            for stage in self._stages:
                if stage["stage"] == event.stage:
                    stage.update(
                        verdict=event.verdict,
                        reason=event.reason,
                        ended_s=round(self._elapsed_s(), 3),
                    )
            self._save()
        elif isinstance(event, RunFinished):
            self._facts.update(
                verdict=event.verdict,
                reason=event.reason,
                ended=event.ended,
                ended_utc=event.time_utc,
                owed=plain(list(event.owed)),
            )
            self._save()

    def _journal_row(self, event: Event) -> None:
        detail = plain(event)
        if isinstance(event, RunStarted) and isinstance(detail, dict):
            detail.pop("facts", None)
        stage = getattr(event, "stage", "")
        self._journal.append(
            {
                "elapsed_s": round(self._elapsed_s(), 3),
                "time_utc": iso(self._clock.utc()),
                "event": type(event).__name__,
                "stage": stage,
                "detail": json.dumps(detail, ensure_ascii=False),
            }
        )

    def _save(self) -> None:
        self._facts["stages"] = self._stages
        write_json(self.folder / "run.json", self._facts)

    def close(self) -> None:
        """Close the files."""
        for table in (self._readings, self._samples, self._journal):
            table.close()


def _sample_row(sample: Sample) -> dict[str, object]:
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


def _reading_row(reading: Reading) -> dict[str, object]:
    limit = reading.limit
    return {
        "stage": reading.stage,
        "reading": reading.name,
        "value": reading.value,
        "unit": reading.unit,
        "uncertainty": reading.uncertainty,
        "lower_limit": limit.lower if limit else None,
        "upper_limit": limit.upper if limit else None,
        "allowed": " | ".join(reading.allowed),
        "verdict": reading.verdict.value if reading.verdict else "",
        "required": reading.required,
        "reason": reading.reason,
        "source": reading.source,
    }


def write_json(path: Path, content: object) -> None:
    """Replace a JSON file as a whole: after a power cut the old or the new one is there."""
    fresh = path.with_suffix(path.suffix + ".new")
    with fresh.open("w", encoding="utf-8") as out:
        json.dump(plain(content), out, indent=1, ensure_ascii=False)
        out.write("\n")
        out.flush()
        os.fsync(out.fileno())
    fresh.replace(path)
    handle = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
