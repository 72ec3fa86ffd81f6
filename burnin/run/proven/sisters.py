"""What cards of the same model on record reached, and whether this one reaches as much.

Records beside this run's own are looked at, the newest first: those that a technician declared
known-good, else those that passed. Only the same ids, the same kind of machine (simulated or real)
and the same engine compare; what hangs on the work compares under the same profile alone, to the
letter. Another subsystem is another board, whose memory and power may differ by design.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median

from burnin.core.errors import RecordError
from burnin.core.identity import Identity
from burnin.core.opening import Opening
from burnin.core.reading import Limit, Reading, Verdict, judge, known
from burnin.core.verdict import Ended, RunVerdict
from burnin.record.reader import Record, read_record
from burnin.run.proven.bench_log import declared, read, slots_kept
from burnin.run.proven.meanings import SisterReason, SisterSource

_LOOKED_AT = 40
"""So many records, the newest, are opened at most."""
_COMPARED = 5
_MEMORY_WITHIN = 0.02
_SHARES = {
    "power_w": 0.85,
    "memory_rate_gbs": 0.85,
    "copy_to_card_gbs": 0.75,
    "copy_to_host_gbs": 0.75,
}
"""Least share of what the others showed. Cards of a model differ by some per cent in power and in
what their cooling lets them do, copies by what a host does beside (estimates, no source)."""
_MEMORY = "sister_memory_share"
_NAMES = {name: f"sister_{name.rpartition('_')[0]}_share" for name in _SHARES}


@dataclass(frozen=True)
class Sisters:
    """Records to compare with; `declared`: as known-good, else they passed."""

    records: tuple[Record, ...] = ()
    declared: bool = False


def sister_readings(
    opening: Opening, results: Path, readings: Sequence[Reading]
) -> Iterator[Reading]:
    """This card beside its sisters on record under `results`; nothing where there is none.

    Less than they showed is unsure and never a failure: one of the others may be the odd one.
    """
    card = opening.card
    if card is None or not opening.engine.works_card:
        return
    sisters = sisters_of(opening, card, results)
    if not sisters.records:
        return
    yield from _memory(card, sisters)
    same_work = tuple(
        r for r in sisters.records if r.run.profile.sha256 == opening.profile.sha256
    )
    for name, least in _SHARES.items():
        yield from _beside(name, least, readings, Sisters(same_work, sisters.declared))


def sisters_of(opening: Opening, card: Identity, results: Path) -> Sisters:
    """The newest records of the same model that may be compared with; declared ones alone where
    there are any.
    """
    named = _declared(results)
    for folders, by_hand in ((named, True), (_newest(results), False)):
        found: list[Record] = []
        for folder in folders[:_LOOKED_AT]:
            record = _opened(folder)
            if record is not None and _is_sister(record, opening, card, declared=by_hand):
                found.append(record)
            if len(found) == _COMPARED:
                break
        if found:
            return Sisters(tuple(found), by_hand)
    return Sisters()


def _declared(results: Path) -> list[Path]:
    """Records that were declared known-good, the newest first."""
    found: list[tuple[str, Path]] = []
    for slot, _ in slots_kept(results):
        try:
            log = read(results, slot)
        except RecordError:
            continue
        for one in () if log is None else declared(log):
            found.append((one.proof.started_utc, Path(one.proof.record)))
    return [folder for _, folder in sorted(found, reverse=True)]


def _newest(results: Path) -> list[Path]:
    """Folders of records, the newest first: their names begin with the moment."""
    files = results.glob("*/*/run.json")
    return sorted((file.parent for file in files), key=lambda f: f.name, reverse=True)


def _opened(folder: Path) -> Record | None:
    try:
        return read_record(folder)
    except (RecordError, OSError):
        return None


def _is_sister(record: Record, opening: Opening, card: Identity, *, declared: bool) -> bool:
    run, other = record.run, record.run.card
    good = (RunVerdict.PASS, RunVerdict.CONDITIONAL) if declared else (RunVerdict.PASS,)
    if other is None or run.run_id == opening.run_id or run.verdict not in good:
        return False
    alike = model_of(other) == model_of(card) and run.engine.name == opening.engine.name
    whole = run.ended is Ended.DONE and run.is_simulated == opening.simulated
    return alike and whole and record.condition.whole


def model_of(card: Identity) -> tuple[object, ...]:
    """What tells one model of card from another: its ids and revision."""
    return (
        card.vendor_id,
        card.device_id,
        known(card.subsystem_vendor_id),
        known(card.subsystem_id),
        known(card.revision),
    )


def _memory(card: Identity, sisters: Sisters) -> Iterator[Reading]:
    own = known(card.memory_bytes)
    theirs = [
        float(size)
        for record in sisters.records
        if record.run.card is not None and (size := known(record.run.card.memory_bytes))
    ]
    if not own or not theirs:
        return
    limit = Limit(1.0 - _MEMORY_WITHIN, 1.0 + _MEMORY_WITHIN)
    yield _judged(_MEMORY, "memory_gib", own / 2**30, median(theirs) / 2**30, limit, sisters)


def _beside(
    name: str, least: float, readings: Sequence[Reading], sisters: Sisters
) -> Iterator[Reading]:
    """The same reading of the same stages, the least of each run."""
    own = _least(readings, name)
    told = [_least(record.readings, name) for record in sisters.records]
    theirs = [value for value in told if value]
    if own is not None and theirs:
        limit = Limit(lower=least)
        yield _judged(_NAMES[name], name, own, median(theirs), limit, sisters)


def _least(readings: Sequence[Reading], name: str) -> float | None:
    values = [
        float(r.value) for r in readings if r.name == name and isinstance(r.value, int | float)
    ]
    return min(values, default=None)


def _judged(
    name: str, of: str, own: float, theirs: float, limit: Limit, sisters: Sisters
) -> Reading:
    count, newest = len(sisters.records), sisters.records[0].run.run_id
    kind = SisterSource.DECLARED if sisters.declared else SisterSource.PASSED
    source = kind(runs_count=count, run=newest)
    found = judge(name, own / theirs, "", limit, source=source, required=False)
    if found.verdict is Verdict.PASS:
        return found
    told = SisterReason.UNLIKE_DECLARED if sisters.declared else SisterReason.UNLIKE_PASSED
    why = told(reading=of, value=own, their_value=theirs, runs_count=count, run=newest)
    share = found.value
    return Reading(name, share, "", 0.0, limit, (), Verdict.UNSURE, why, source)
