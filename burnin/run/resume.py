"""An interrupted record read back: what is proven, and what is still to do."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

from burnin.core.errors import RecordError
from burnin.core.reading import Reading, Verdict
from burnin.core.verdict import StageOutcome
from burnin.record.checksums import changed_data
from burnin.record.rows import read_facts, read_rows, reading_of
from burnin.run.runner import Earlier
from burnin.stages.link.traffic import SOAK_NOTE

_PROVEN = ("pass", "fail", "conditional")
"""A stage with one of these came to its end; anything else was in flight, or never began."""


def read_earlier(folder: Path) -> tuple[dict[str, object], Earlier]:
    """Facts and finished stages of a record; raises RecordError where nothing can be resumed."""
    changed = changed_data(folder)
    if changed:
        raise RecordError(
            f"{folder}: {', '.join(changed)} changed since its checksums were written; "
            "a run does not go on from data that nobody vouches for"
        )
    facts = read_facts(folder)
    if facts.get("ended") == "done" and not _starts_left(facts):
        raise RecordError(
            f"{folder}: this run came to its end ({facts.get('verdict')}); nothing to resume"
        )
    stages = facts.get("stages")
    rows = read_rows(folder / "readings.csv")
    outcomes: dict[str, StageOutcome] = {}
    readings: dict[str, tuple[Reading, ...]] = {}
    failed: dict[str, tuple[Reading, ...]] = {}
    for stage in stages if isinstance(stages, list) else []:
        name = str(stage["stage"])
        if stage.get("verdict") not in _PROVEN or _is_open(stage):
            fails = (r for r in rows if r["stage"] == name and r["verdict"] == Verdict.FAIL)
            failed[name] = tuple(reading_of(row) for row in fails)
            continue
        outcomes[name] = StageOutcome(
            name,
            str(stage["kind"]),
            str(stage["title"]),
            str(stage["verdict"]),
            str(stage.get("reason", "")),
        )
        latest = {row["reading"]: row for row in rows if row["stage"] == name}
        readings[name] = tuple(reading_of(row) for row in latest.values())
    return facts, Earlier(outcomes, readings, failed, _soaks(folder, outcomes))


def _is_open(stage: Mapping[str, object]) -> bool:
    """Cold starts come to their end with the last of them, each in a boot of its own."""
    return stage.get("kind") == "cold_starts" and stage.get("verdict") != "pass"


def _starts_left(facts: Mapping[str, object]) -> bool:
    stages = facts.get("stages")
    return any(_is_open(stage) for stage in stages) if isinstance(stages, list) else False


def _soaks(folder: Path, done: Mapping[str, StageOutcome]) -> dict[str, dict[str, object]]:
    """Last sums of link traffic of every stage that was in flight, from the journal."""
    found: dict[str, dict[str, object]] = {}
    for row in read_rows(folder / "journal.csv"):
        if row["event"] != "Noted" or row["stage"] in done:
            continue
        try:
            event = json.loads(row["detail"])
        except ValueError:
            continue  # torn by the cut
        if isinstance(event, dict) and event.get("text") == SOAK_NOTE:
            found[row["stage"]] = event["detail"]
    return found


def last_elapsed_s(folder: Path) -> float:
    """The newest elapsed_s of the record, 0 where there is none."""
    found = 0.0
    for name in ("samples.csv", "journal.csv"):
        for row in read_rows(folder / name):
            try:
                found = max(found, float(row["elapsed_s"]))
            except (KeyError, ValueError):
                continue  # torn by the cut
    return found


def seconds_since_start(facts: dict[str, object], now: datetime) -> float:
    """Wall time since the run began, so that elapsed_s goes on rising after a power cut."""
    began = datetime.fromisoformat(str(facts["started_utc"]).replace("Z", "+00:00"))
    return max(0.0, (now - began).total_seconds())
