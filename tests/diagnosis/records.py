"""Small records that tests write by hand: run.json of the newest format, rows as they are given."""

from __future__ import annotations

import csv
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from burnin.core.meaning import Reason
from burnin.core.reading import Limit, NotMeasured, Reading, ReadingReason, judge
from burnin.core.verdict import VerdictReason
from burnin.record.open_tables import JOURNAL_COLUMNS, READING_COLUMNS
from burnin.record.writer import reading_cells


def run_json(folder: Path, stages: Sequence[Any] = (), **changes: Any) -> Path:
    """A run of those stages (name, kind, and what else differs from a stage that passed)."""
    sound = {"verdict": "pass", "reasons": []}
    rows = [sound | stage if isinstance(stage, dict) else stage for stage in stages]
    content: dict[str, Any] = {
        "format": 2, "run_id": "r-1", "started_utc": "2026-03-02T09:15:00.000Z", "tool": {},
        "profile": {"name": "p", "title": "P", "file": "p.toml", "sha256": "0" * 64, "text": ""},
        "guards": {}, "ticket": {}, "card": None, "stages": rows, "verdict": "pass",
        "engine": {"name": "none", "adapter": "", "driver": "", "why": {"code": "asked"}},
        "reason": VerdictReason.ALL_STAGES_PASSED(stages_count=len(rows)).as_plain(),
    }  # fmt: skip
    text = json.dumps(content | changes)
    (folder / "run.json").write_text(text, "utf-8")
    return folder


def reason_json(reason: Reason) -> dict[str, object]:
    """A reason as run.json holds it."""
    return reason.as_plain()


def link_readings(width: float | None, stage: str = "3-link") -> list[Reading]:
    """Width (None: it could not be read) and speed under traffic as a link stage judges them."""
    limit = Limit(16.0, 16.0)
    seen = NotMeasured(ReadingReason.NOT_READ()) if width is None else width
    found = [
        judge("link_width_lanes", seen, "lanes", limit),
        judge("link_speed_gts", 16.0, "GT/s", limit),
    ]
    return [Reading(**(vars(reading) | {"stage": stage})) for reading in found]


def tables(
    folder: Path, readings: Sequence[Reading] = (), notes: Sequence[tuple[str, Any]] = ()
) -> Path:
    """readings.csv and journal.csv; `notes` are (stage, the note as JSON)."""
    with (folder / "readings.csv").open("w", encoding="utf-8", newline="") as out:
        table = csv.DictWriter(out, READING_COLUMNS, lineterminator="\n")
        table.writeheader()
        table.writerows(reading_cells(reading) for reading in readings)
    with (folder / "journal.csv").open("w", encoding="utf-8", newline="") as out:
        table = csv.DictWriter(out, JOURNAL_COLUMNS, lineterminator="\n")
        table.writeheader()
        for stage, note in notes:
            detail = json.dumps({"stage": stage, "note": note})
            row = {"elapsed_s": 1, "time_utc": "", "event": "Noted", "stage": stage}
            table.writerow(row | {"detail": detail})
    return folder
