"""Which records belong together: the file of a batch, durable, and its one reader.

A batch is several cards of one bench burnt in together, each with a record of its own. Its file is
``batches/<batch id>.json`` in the folder of the results; ``<batch id>.power.csv`` beside it holds
what each card was counted at, row by row.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from hashlib import sha256
from pathlib import Path
from typing import Any

from burnin.core.errors import RecordError
from burnin.core.files.bounded import NOT_WHOLE, TEXT_BYTES, read_at_most
from burnin.core.files.disk import replace_whole, sync_folder_and_above
from burnin.core.files.private_files import private_folder
from burnin.core.meaning import Reason
from burnin.core.plain import finite, plain
from burnin.core.verdict import RunVerdict

BATCHES = "batches"
"""Folder of the results in which the files of batches lie."""
NIGHTS = "nights"
"""Folder of the results in which it is kept which batches a night had."""
FORMAT = 1
_ENDING = ".json"


@dataclass(frozen=True)
class CardOfBatch:
    """One card: where it sits, what it is, its repair, its record and the word that it came to.

    `profile` is its name; `asks_profile` what its run was told, empty where its ticket says it.
    `record`: its folder below the results, empty while it has none. `word` is None where there is
    none: not yet, or, with `ended`, for good, and `why` says why. `slot_number`: as the port above
    it tells it, 0 where it does not. `slot_name`: what people find beside the slot; empty where
    nobody tells it.
    """

    address: str
    name: str = ""
    slot_number: int = 0
    ticket: str = ""
    profile: str = ""
    asks_profile: str = ""
    record: str = ""
    run_id: str = ""
    word: RunVerdict | None = None
    why: Reason | None = None
    ended: bool = False
    slot_name: str = ""


@dataclass(frozen=True)
class Batch:
    """The cards of a batch in bus order; `budget_w`: for all of them together, None: none kept.

    `ended_utc` is empty while it goes on, and for ever where its keeper was killed. `scenario`,
    `seed` and `pace` are the simulated bench's, `engine` the one that was asked for.
    """

    batch_id: str
    started_utc: str
    cards: tuple[CardOfBatch, ...]
    simulated: bool = False
    budget_w: float | None = None
    ended_utc: str = ""
    scenario: str = ""
    seed: int = 1
    pace: float = 0.0
    engine: str = ""

    def with_card(self, card: CardOfBatch) -> Batch:
        """The same with one card as it is now."""
        cards = tuple(card if card.address == c.address else c for c in self.cards)
        return replace(self, cards=cards)


def batch_file(results: Path, batch_id: str) -> Path:
    """Where the file of a batch lies."""
    return results / BATCHES / f"{batch_id}{_ENDING}"


def power_file(results: Path, batch_id: str) -> Path:
    """Where it stands what each card was counted at."""
    return results / BATCHES / f"{batch_id}.power.csv"


def write_batch(results: Path, batch: Batch) -> Path:
    """Write a batch's file; on disk when this returns. Raises OSError."""
    path = batch_file(results, batch.batch_id)
    fresh = not path.parent.exists()
    private_folder(path.parent)
    content = {"format": FORMAT, **_object(plain(batch))}
    content["check"] = _check(content)
    replace_whole(path, json.dumps(content, indent=1, ensure_ascii=False).encode() + b"\n")
    if fresh:
        sync_folder_and_above(path.parent)
    return path


def read_batch(path: Path) -> Batch:
    """A batch's file read back; raises RecordError where it is missing or no such file."""
    try:
        content = json.loads(read_at_most(path, TEXT_BYTES))
        if content.get("format") != FORMAT:
            raise RecordError(
                f"{path}: format is {content.get('format')!r}, this burnin reads format {FORMAT}"
            )
        if content.pop("check", "") != _check(content):
            raise RecordError(
                f"{path}: is not as it was written; go on with its records one by one"
                " (burnin run --resume RECORD)"
            )
        return _batch(content)
    except OSError as error:
        raise RecordError(f"{path}: cannot be read: {error.strerror or error}") from error
    except NOT_WHOLE as error:
        raise RecordError(f"{path}: is no file of a batch, or damaged ({error})") from error


def batches_in(results: Path) -> tuple[Path, ...]:
    """Files of all batches, the newest first."""
    folder = results / BATCHES
    found = folder.glob(f"*{_ENDING}") if folder.is_dir() else ()
    return tuple(sorted(found, reverse=True))


def _check(content: Mapping[str, Any]) -> str:
    """Over all that the file says: a list from which a card was struck is seen to be another."""
    text = json.dumps(content, sort_keys=True, ensure_ascii=False)
    return sha256(text.encode()).hexdigest()[:16]


def _batch(content: Mapping[str, Any]) -> Batch:
    return Batch(
        batch_id=_text(content, "batch_id"),
        started_utc=_text(content, "started_utc"),
        cards=tuple(_card(_object(card)) for card in content["cards"]),
        simulated=content["simulated"] is True,
        budget_w=finite(content.get("budget_w")),
        ended_utc=_text(content, "ended_utc"),
        scenario=_text(content, "scenario"),
        seed=int(content["seed"]),
        pace=float(content["pace"]),
        engine=_text(content, "engine"),
    )


def _card(content: Mapping[str, Any]) -> CardOfBatch:
    word, why = content.get("word"), content.get("why")
    return CardOfBatch(
        address=_text(content, "address"),
        name=_text(content, "name"),
        slot_number=int(content["slot_number"]),
        ticket=_text(content, "ticket"),
        profile=_text(content, "profile"),
        asks_profile=_text(content, "asks_profile"),
        record=_inside(_text(content, "record")),
        run_id=_text(content, "run_id"),
        word=None if word is None else RunVerdict(word),
        why=None if why is None else Reason.from_plain(_object(why)),
        ended=content["ended"] is True,
        slot_name=_text(content, "slot_name") if "slot_name" in content else "",
    )


def _object(value: object) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise ValueError("not an object")
    return value


def _text(content: Mapping[str, Any], name: str) -> str:
    value = content[name]
    if not isinstance(value, str):
        raise ValueError(f"{name} is no text")
    return value


def _inside(record: str) -> str:
    """A record's folder is told from the results' own; nothing outside them is one."""
    if Path(record).is_absolute() or ".." in Path(record).parts:
        raise ValueError("a record lies inside the results")
    return record
