"""Which rows that the event stream told are missing in the record."""

import csv
import json
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any


def lost_rows(told: list[Path], results: Path) -> Iterator[str]:
    """Every reading, sample and stage's end that a stream told and the newest record lacks."""
    events = [event for file in told if file.exists() for event in _events(file)]
    if not events:
        return
    kept = _kept(_newest(results))
    for what, count in Counter(row for event in events for row in _row(event)).items():
        if kept[what] < min(count, 1):
            yield " ".join(what)


def _events(file: Path) -> Iterator[dict[str, Any]]:
    for line in file.read_text("utf-8").splitlines():
        try:
            yield json.loads(line)
        except ValueError:
            continue


def _row(event: dict[str, Any]) -> Iterator[tuple[str, ...]]:
    if event.get("event") == "ReadingTaken":
        reading = event["reading"]
        yield "reading", reading["stage"], reading["name"]
    elif event.get("event") == "SampleTaken":
        sample = event["sample"]
        yield "sample", sample["stage"], f"{sample['elapsed_s']:g}"
    elif event.get("event") in ("StageStarted", "StageFinished"):
        yield "journal", event["stage"], event["event"]


def _kept(folder: Path) -> Counter[tuple[str, ...]]:
    kept: Counter[tuple[str, ...]] = Counter()
    kept.update(("reading", row["stage"], row["reading"]) for row in _table(folder, "readings"))
    kept.update(("sample", row["stage"], f"{float(row['elapsed_s'] or 0):g}")
                for row in _table(folder, "samples"))
    kept.update(("journal", row["stage"], row["event"]) for row in _table(folder, "journal"))
    return kept


def _table(folder: Path, name: str) -> list[dict[str, str]]:
    file = folder / f"{name}.csv"
    if not file.exists():
        return []
    with file.open(encoding="utf-8", newline="") as opened:
        return [row for row in csv.DictReader(opened) if all(isinstance(value, str)
                                                              for value in row.values())]


def _newest(results: Path) -> Path:
    found = sorted(results.rglob("run.json"), key=lambda file: file.parent.stat().st_ctime)
    return found[-1].parent if found else results
