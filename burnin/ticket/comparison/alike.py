"""Which records may be weighed against each other, and what keeps others from it."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from burnin.core.errors import RecordError
from burnin.core.meaning import Note
from burnin.core.reading import known
from burnin.core.verdict import RunVerdict
from burnin.record.reader import Record, read_record, read_run
from burnin.record.schema.run import RunFile
from burnin.run.proven.sisters import model_of
from burnin.ticket.comparison.meanings import ComparedNote

Place = tuple[str, int]
"""A stage by its kind, and the how manieth of that kind it is in its run."""


@dataclass(frozen=True)
class Alike:
    """What two or more records have in common; `stages` are asked alike in all profiles."""

    machine: bool
    model: bool
    engine: bool
    profile: bool
    stages: frozenset[Place]
    notes: tuple[Note, ...]


def known_good_of(run: RunFile, results: Path, without: Path) -> Iterator[Record]:
    """Other runs on record that passed the same profile to the letter, with the same model.

    Simulated ones count beside simulated ones only; what was edited or is foreign never counts.
    """
    for path in sorted(results.glob("*/*/run.json")):
        if path.parent.resolve() == without.resolve():
            continue
        try:
            there = read_run(path.parent)
            if there.verdict is RunVerdict.PASS and _same_work(run, there):
                record = read_record(path.parent)
                if not record.condition.made_up:
                    yield record
        except RecordError:
            continue


def alike(own: Record, others: Sequence[Record]) -> Alike:
    """What a record and those beside it have in common."""
    mine, there = own.run, [other.run for other in others]
    machine = all(one.is_simulated == mine.is_simulated for one in there)
    model = all(_model(one) == _model(mine) for one in there)
    engine = all(one.engine.name == mine.engine.name for one in there)
    profile = all(one.profile.sha256 == mine.profile.sha256 for one in there)
    notes = [
        ComparedNote.MADE_UP(record=record.folder.name, flaws=record.condition.made_up)
        for record in (own, *others)
        if record.condition.made_up
    ]
    if not machine:
        notes.append(ComparedNote.OTHER_MACHINE())
    if not model:
        other = next(one for one in there if _model(one) != _model(mine))
        notes.append(ComparedNote.OTHER_MODEL(card=_card(mine), other_card=_card(other)))
    if not engine:
        name = next(o.engine.name for o in there if o.engine.name != mine.engine.name)
        notes.append(ComparedNote.OTHER_ENGINE(engine=mine.engine.name, other_engine=name))
    if not profile:
        name = next(o.profile.name for o in there if o.profile.sha256 != mine.profile.sha256)
        told = ComparedNote.OTHER_PROFILE(profile=mine.profile.name, other_profile=name)
        notes.append(told)
    asked = [set(_asked(one)) for one in (mine, *there)]
    shared = frozenset(place for place, _ in set.intersection(*asked))
    return Alike(machine, model, engine, profile, shared, tuple(notes))


def are_one_card(records: Sequence[Record]) -> bool:
    """Whether all records are known to be of one and the same card."""
    named = set()
    for record in records:
        card = record.run.card
        own = None if card is None else (known(card.uuid) or known(card.serial))
        if not own:
            return False
        named.add(own)
    return len(named) == 1


def places_of(run: RunFile) -> dict[str, Place]:
    """Each stage of a run by its name: its kind, and the how manieth of that kind it is."""
    found: dict[str, Place] = {}
    seen: dict[str, int] = {}
    for stage in run.stages:
        seen[stage.kind] = seen.get(stage.kind, 0) + 1
        found[stage.stage] = (stage.kind, seen[stage.kind])
    return found


def _same_work(run: RunFile, there: RunFile) -> bool:
    return (
        there.profile.sha256 == run.profile.sha256
        and there.is_simulated == run.is_simulated
        and there.engine.name == run.engine.name
        and _model(there) == _model(run)
    )


def _model(run: RunFile) -> tuple[object, ...] | None:
    return None if run.card is None else model_of(run.card)


def _card(run: RunFile) -> str:
    return "" if run.card is None else known(run.card.name) or run.card.address


def _asked(run: RunFile) -> Iterator[tuple[Place, str]]:
    """Each stage that a profile asks for, and how it is asked."""
    try:
        stages = tomllib.loads(run.profile.text).get("stages", [])
    except tomllib.TOMLDecodeError:
        return
    seen: dict[str, int] = {}
    for table in stages if isinstance(stages, list) else ():
        if isinstance(table, dict):
            kind = str(table.get("stage", ""))
            seen[kind] = seen.get(kind, 0) + 1
            told = {key: value for key, value in table.items() if key != "title"}
            yield (kind, seen[kind]), repr(sorted(told.items()))
