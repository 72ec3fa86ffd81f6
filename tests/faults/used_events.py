"""Rows that were used: events from which the record's writer had returned, and those a record has.

What is compared is a row's own content, not its moment: a row lost is one that somebody acted on
and that no file holds.
"""

from __future__ import annotations

import json
import os
from collections import Counter
from pathlib import Path

from burnin.core.events import Event, ReadingTaken, SampleTaken, StageProgress
from burnin.record.reader import Record
from burnin.record.writer import RecordWriter

Row = tuple[str, str, str, str]


def keep_used(path: Path) -> None:
    """From now on put each event on a list once the record's writer has it (in this process)."""
    real, write = RecordWriter.__call__, os.write
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o644)

    def told(self: RecordWriter, event: Event) -> None:
        real(self, event)
        row = row_of(event)
        if row is not None:
            write(handle, (json.dumps(row) + "\n").encode())

    RecordWriter.__call__ = told  # type: ignore[method-assign]


def row_of(event: Event) -> Row | None:
    """What a record must hold of an event; None for progress, which it never holds."""
    if isinstance(event, StageProgress):
        return None
    if isinstance(event, SampleTaken):
        sample = event.sample
        return "sample", sample.stage, f"{sample.elapsed_s:.4f}", ""
    if isinstance(event, ReadingTaken):
        reading = event.reading
        return "reading", reading.stage, reading.name, str(reading.verdict)
    return "journal", getattr(event, "stage", ""), type(event).__name__, ""


def used(path: Path) -> Counter[Row]:
    """The rows on a list."""
    if not path.exists():
        return Counter()
    rows = (json.loads(line) for line in path.read_text("utf-8").splitlines())
    return Counter((a, b, c, d) for a, b, c, d in rows)


def held(record: Record) -> Counter[Row]:
    """The rows that a record holds."""
    found: Counter[Row] = Counter()
    found.update(("sample", s.stage, f"{s.elapsed_s:.4f}", "") for s in record.samples())
    found.update(("reading", r.stage, r.name, str(r.verdict)) for r in record.all_readings)
    found.update(("journal", e.stage, e.event, "") for e in record.journal)
    return found
