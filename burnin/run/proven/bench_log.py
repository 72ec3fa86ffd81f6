"""What is kept of a slot: one append-only file of JSON lines under ``results/bench/``.

Events: ``proven`` (a record declared known-good, and by whom), ``started`` (a run saw a start of
the bench that none had seen before), ``forgotten`` (what was proven counts no more).
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import datetime
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError

from burnin.core.clock import iso
from burnin.core.errors import BadInput, RecordError
from burnin.core.plain import finite, plain
from burnin.core.proven_bench import Slot
from burnin.record.event_log import Log, LogEvent, append, read_log
from burnin.run.proven.proof import Proof
from burnin.run.proven.refusals import ProvenRefusal

FOLDER = "bench"
PROVEN, STARTED, FORGOTTEN = "proven", "started", "forgotten"
_PROOF = TypeAdapter(Proof)


@dataclass(frozen=True)
class Declared:
    """A proof, and who declared it when."""

    proof: Proof
    by: str
    declared_utc: str


def file_of(results: Path, slot: Slot) -> Path:
    """Where a slot's file lies, whether it is there or not."""
    return results / FOLDER / f"{slot.bench}_{slot.port.replace(':', '-')}.jsonl"


def slots_kept(results: Path) -> tuple[tuple[Slot, Path], ...]:
    """Every slot of which something is kept, with its file."""
    found = []
    for path in sorted((results / FOLDER).glob("*_*.jsonl")):
        bench, _, port = path.stem.partition("_")
        domain, bus, rest = (*port.split("-", 2), "", "")[:3]
        found.append((Slot(f"{domain}:{bus}:{rest}", bench), path))
    return tuple(found)


def read(results: Path, slot: Slot) -> Log | None:
    """What is kept of a slot, None where nothing is; raises RecordError for a changed file."""
    path = file_of(results, slot)
    return read_log(path) if path.exists() else None


def declare(results: Path, slot: Slot, proof: Proof, by: str, now: datetime) -> None:
    """Keep a proof; raises BadInput where the same run is one already."""
    content = plain(proof)
    assert isinstance(content, dict)

    def decide(log: Log) -> Sequence[LogEvent]:
        if any(d.proof.run_id == proof.run_id for d in declared(log)):
            raise BadInput(ProvenRefusal.ALREADY(run_id=proof.run_id))
        return [_event(log, PROVEN, by, content, now)]

    append(file_of(results, slot), decide)


def forget(results: Path, slot: Slot, by: str, now: datetime) -> None:
    """What was proven of a slot counts no more; raises BadInput where nothing was."""

    def decide(log: Log) -> Sequence[LogEvent]:
        if not declared(log):
            raise BadInput(ProvenRefusal.NOTHING(port=slot.port))
        return [_event(log, FORGOTTEN, by, {}, now)]

    if not file_of(results, slot).exists():
        raise BadInput(ProvenRefusal.NOTHING(port=slot.port))
    append(file_of(results, slot), decide)


def note_start(results: Path, slot: Slot, boot_id: str, now: datetime) -> None:
    """Note a start of the bench, once, where something is kept of the slot.

    Raises RecordError for a changed file, OSError where it cannot be written.
    """
    path = file_of(results, slot)
    if not path.exists():
        return

    def decide(log: Log) -> Sequence[LogEvent]:
        if boot_id in starts(log, ""):
            return []
        return [_event(log, STARTED, "", {"boot_id": boot_id}, now)]

    append(path, decide)


def declared(log: Log) -> tuple[Declared, ...]:
    """Proofs that nobody has asked to forget, in the order of their runs."""
    found: list[Declared] = []
    for event in log.events:
        if event.kind == FORGOTTEN:
            found.clear()
        elif event.kind == PROVEN:
            found.append(Declared(_proof(dict(event.fields)), event.by, event.time_utc))
    return tuple(sorted(found, key=lambda d: d.proof.started_utc))


def forgotten_utc(log: Log) -> str:
    """When what was proven was last asked to be forgotten; empty: never."""
    return max((e.time_utc for e in log.events if e.kind == FORGOTTEN), default="")


def starts(log: Log, since_utc: str) -> tuple[str, ...]:
    """Boots of the bench that runs saw first after a moment."""
    seen = (e for e in log.events if e.kind == STARTED and e.time_utc > since_utc)
    return tuple(dict.fromkeys(str(event.fields.get("boot_id", "")) for event in seen))


def _event(
    log: Log, kind: str, by: str, content: Mapping[str, object], now: datetime
) -> LogEvent:
    """An event; a bench whose clock lags never dates one before the one that it follows."""
    last_utc = log.events[-1].time_utc if log.events else ""
    return LogEvent(max(iso(now), last_utc), kind, by, content)


def _proof(content: Mapping[str, Any]) -> Proof:
    names = {field.name for field in fields(Proof)}
    given = {name: value for name, value in content.items() if name in names}
    try:
        # By way of JSON, since strict types take lists for tuples from there only.
        text = json.dumps(given, allow_nan=False).encode("utf-8", "replace")
        proof = _PROOF.validate_json(text, strict=True)
    except ValidationError as error:
        place = ".".join(str(part) for part in error.errors()[0]["loc"])
        raise RecordError(ProvenRefusal.WRONG_FIELD(field=place)) from error
    except (ValueError, TypeError, RecursionError) as error:
        raise RecordError(ProvenRefusal.NOT_OURS(words=str(error))) from error
    numbers = (v for v in vars(proof).values() if isinstance(v, int | float))
    if any(finite(v) is None for v in (*numbers, *(rail.voltage_v for rail in proof.rails))):
        raise RecordError(ProvenRefusal.NO_BOUNDS())
    return proof
