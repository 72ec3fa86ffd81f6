"""A record read back: facts, tables, readings; a torn file loses at most its last line."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Mapping
from pathlib import Path

from burnin.core.errors import RecordError
from burnin.core.reading import Limit, Reading, Verdict


def read_facts(folder: Path) -> dict[str, object]:
    """run.json of a record; raises RecordError in plain words."""
    path = folder / "run.json"
    try:
        facts = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise RecordError(f"{folder}: no record here (run.json: {error.strerror})") from error
    except ValueError as error:
        raise RecordError(f"{path}: is not whole: {error}") from error
    if not isinstance(facts, dict):
        raise RecordError(f"{path}: holds no record")
    return facts


def read_rows(path: Path) -> list[dict[str, str]]:
    """All whole rows of a table; a torn last row is left out, a missing file has none."""
    if not path.exists():
        return []
    text = path.read_bytes()
    whole = text[: text.rfind(b"\n") + 1].decode("utf-8", errors="replace")
    rows = csv.DictReader(io.StringIO(whole))
    return [row for row in rows if None not in row.values() and None not in row]


def reading_of(row: Mapping[str, str]) -> Reading:
    """A line of readings.csv as a reading; raises RecordError where it is none."""
    try:
        lower, upper = row["lower_limit"], row["upper_limit"]
        limit = None
        if lower or upper:
            limit = Limit(float(lower) if lower else None, float(upper) if upper else None)
        return Reading(
            name=row["reading"],
            value=_value(row),
            unit=row["unit"],
            uncertainty=float(row["uncertainty"] or 0.0),
            limit=limit,
            allowed=tuple(w for w in row["allowed"].split(" | ") if w),
            verdict=Verdict(row["verdict"]) if row["verdict"] else None,
            reason=row["reason"],
            source=row["source"],
            required=row["required"] == "yes",
            stage=row["stage"],
        )
    except (KeyError, ValueError) as error:
        raise RecordError(f"a line of readings.csv cannot be read: {error}") from error


def _value(row: Mapping[str, str]) -> float | str | None:
    """A number where the reading is one: what has a unit, a numeric limit or an uncertainty."""
    text = row["value"]
    numeric = row["unit"] or row["lower_limit"] or row["upper_limit"]
    if not text or not numeric:
        return text or None
    try:
        return float(text)
    except ValueError:
        return text
