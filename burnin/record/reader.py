"""A record, read back from its folder: the only source of plots and sheet.

Format of the files: results/README.md. A record cut off by a power failure is read as far as its
last whole line; `RecordData.flaws` says what is missing.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from burnin.core.errors import RecordError
from burnin.core.sample import TELEMETRY_NAMES
from burnin.record.torn_csv import Rows, read_rows

FORMAT = 1
DATA_FILES = ("run.json", "readings.csv", "samples.csv", "journal.csv", "failing_words.csv")
_TEXT_COLUMNS = ("throttle_reasons",)
SERIES_NAMES = (
    "load_share",
    "load_w",
    *(name for name in TELEMETRY_NAMES if name not in _TEXT_COLUMNS),
)


@dataclass(frozen=True)
class ReadingRow:
    """One line of readings.csv; `number` is the value where it is a number."""

    stage: str
    name: str
    value: str
    number: float | None
    unit: str
    uncertainty: float
    lower: float | None
    upper: float | None
    allowed: str
    verdict: str
    required: bool
    reason: str


@dataclass(frozen=True)
class JournalRow:
    """One line of journal.csv; `detail` holds the event's own fields."""

    elapsed_s: float
    event: str
    stage: str
    detail: Mapping[str, object]


@dataclass(frozen=True)
class FailingWordRow:
    """One line of failing_words.csv, as written there."""

    address_bytes: str
    expected: str
    got: str
    flipped_bits: str
    pattern: str


@dataclass(frozen=True)
class Telemetry:
    """samples.csv by column; all tuples have the same length, None where nothing was read."""

    elapsed_s: tuple[float, ...]
    stages: tuple[str, ...]
    columns: Mapping[str, tuple[float | None, ...]]


@dataclass(frozen=True)
class RecordData:
    """All that a record holds. `facts` is run.json; `flaws` says what could not be read."""

    folder: Path
    facts: Mapping[str, object]
    readings: tuple[ReadingRow, ...]
    telemetry: Telemetry
    journal: tuple[JournalRow, ...]
    failing_words: tuple[FailingWordRow, ...]
    readings_sha256: str
    flaws: tuple[str, ...]
    cut_short: bool
    """Whether a file is missing or torn at its end, so that what came last is unknown."""
    altered: tuple[str, ...]
    """Names of files that no longer match checksums.sha256."""

    @property
    def last_start(self) -> int:
        """Place in the journal of the last start: a resumed run has more than one."""
        starts = [place for place, row in enumerate(self.journal) if row.event == "RunStarted"]
        return starts[-1] if starts else 0

    def events(self, name: str) -> tuple[JournalRow, ...]:
        """Journal rows of one class of event, in order of time."""
        return tuple(row for row in self.journal if row.event == name)


def read_record(folder: Path) -> RecordData:
    """Read a record's folder.

    Raises RecordError if run.json is missing, unreadable or of another format; every other file
    may be missing or torn.
    """
    facts = _read_facts(folder / "run.json")
    readings = read_rows(folder / "readings.csv")
    samples = read_rows(folder / "samples.csv")
    journal = read_rows(folder / "journal.csv")
    words_path = folder / "failing_words.csv"
    words = read_rows(words_path) if words_path.exists() else Rows(())
    return RecordData(
        folder=folder,
        facts=facts,
        readings=_latest(tuple(_reading(row) for row in readings.rows)),
        telemetry=_telemetry(samples.rows),
        journal=tuple(_journal_row(row) for row in journal.rows),
        failing_words=tuple(_failing_word(row) for row in words.rows),
        readings_sha256=_sha256(folder / "readings.csv"),
        cut_short=any(part.cut_short for part in (readings, samples, journal, words)),
        flaws=readings.flaws + samples.flaws + journal.flaws + words.flaws,
        altered=_altered(folder),
    )


def table(facts: Mapping[str, object], key: str) -> Mapping[str, object]:
    """The table under `key`, empty where there is none."""
    value = facts.get(key)
    return value if isinstance(value, dict) else {}


def rows(facts: Mapping[str, object], key: str) -> tuple[Mapping[str, object], ...]:
    """The tables in the list under `key`, empty where there is none."""
    value = facts.get(key)
    if not isinstance(value, list):
        return ()
    return tuple(item for item in value if isinstance(item, dict))


def text(facts: Mapping[str, object], key: str) -> str:
    """The text or number under `key` as text, empty where there is none."""
    value = facts.get(key)
    if isinstance(value, str):
        return value
    if isinstance(value, int | float) and not isinstance(value, bool):
        return f"{value:.10g}" if isinstance(value, float) else str(value)
    return ""


def number(value: object) -> float | None:
    """A finite number out of JSON or CSV, None for anything else."""
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        return None
    try:
        found = float(value)
    except (ValueError, OverflowError):
        return None
    return found if math.isfinite(found) else None


def _read_facts(path: Path) -> Mapping[str, object]:
    try:
        raw = path.read_bytes()
    except FileNotFoundError:
        raise RecordError(
            f"{path.parent} holds no run.json: name a record's folder, as in results/"
        ) from None
    except OSError as error:
        raise RecordError(f"{path} cannot be read: {error.strerror or error}") from None
    try:
        facts = json.loads(raw.decode("utf-8-sig"))
    except (ValueError, RecursionError) as error:
        raise RecordError(f"{path} is not JSON ({error}): the record is damaged") from None
    if not isinstance(facts, dict):
        raise RecordError(f"{path} must hold one JSON object: the record is damaged")
    if facts.get("format") != FORMAT:
        raise RecordError(
            f"{path}: format is {facts.get('format')!r}, this burnin reads format {FORMAT}"
        )
    return facts


def _reading(row: Mapping[str, str]) -> ReadingRow:
    return ReadingRow(
        stage=row.get("stage", ""),
        name=row.get("reading", ""),
        value=row.get("value", ""),
        number=number(row.get("value", "")),
        unit=row.get("unit", ""),
        uncertainty=number(row.get("uncertainty", "")) or 0.0,
        lower=number(row.get("lower_limit", "")),
        upper=number(row.get("upper_limit", "")),
        allowed=row.get("allowed", ""),
        verdict=row.get("verdict", "").strip().lower().replace("_", " "),
        required=row.get("required", "").strip().lower() not in ("false", "0", "no"),
        reason=row.get("reason", ""),
    )


def _latest(found: tuple[ReadingRow, ...]) -> tuple[ReadingRow, ...]:
    """The last row of each reading: a stage that was repeated after a resume judges anew.

    A row that failed stays, whatever came after it: a sheet hides no failure. A row that speaks of
    a whole stage (it was not reached) is out of date once the stage has rows of its own.
    """
    last = {(row.stage, row.name): place for place, row in enumerate(found)}
    last_of_stage = {row.stage: place for place, row in enumerate(found)}
    return tuple(
        row
        for place, row in enumerate(found)
        if (last[row.stage, row.name] == place or row.verdict == "fail")
        and not (row.name == "stage" and last_of_stage[row.stage] > place)
    )


def _journal_row(row: Mapping[str, str]) -> JournalRow:
    try:
        detail = json.loads(row.get("detail", "") or "{}")
    except (ValueError, RecursionError):
        detail = {}
    return JournalRow(
        elapsed_s=number(row.get("elapsed_s", "")) or 0.0,
        event=row.get("event", ""),
        stage=row.get("stage", ""),
        detail=detail if isinstance(detail, dict) else {},
    )


def _failing_word(row: Mapping[str, str]) -> FailingWordRow:
    names = ("address_bytes", "expected", "got", "flipped_bits", "pattern")
    return FailingWordRow(*(row.get(name, "") for name in names))


def _telemetry(sample_rows: tuple[dict[str, str], ...]) -> Telemetry:
    timed = [(number(row.get("elapsed_s", "")), row) for row in sample_rows]
    kept = [(moment, row) for moment, row in timed if moment is not None]
    return Telemetry(
        elapsed_s=tuple(moment for moment, _ in kept),
        stages=tuple(row.get("stage", "") for _, row in kept),
        columns={
            name: tuple(number(row.get(name, "")) for _, row in kept) for name in SERIES_NAMES
        },
    )


def _sha256(path: Path) -> str:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return ""


def _altered(folder: Path) -> tuple[str, ...]:
    """Data files whose bytes differ from what checksums.sha256 says (``hex  name`` a line)."""
    try:
        lines = (folder / "checksums.sha256").read_text("utf-8", errors="replace").splitlines()
    except OSError:
        return ()
    listed = (line.split(maxsplit=1) for line in lines)
    pairs = [(p[0].lower(), p[1].lstrip("*").strip()) for p in listed if len(p) == 2]
    return tuple(
        name for digest, name in pairs if name in DATA_FILES and _sha256(folder / name) != digest
    )
