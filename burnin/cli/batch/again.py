"""A batch gone on with after a cut or a stop: which of its cards are done, and what is left to do.

A card that came to its word is not burnt in again, also where the cut came between its word and the
batch's file: its record says it. One that was stopped, killed or cut goes on in its own record; one
whose run had not begun begins.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from burnin.core.errors import BadInput, RecordError
from burnin.core.verdict import Ended, RunVerdict
from burnin.record.batches.batch import BATCHES, Batch, CardOfBatch, read_batch
from burnin.record.run_file import read_run

_CAME_TO_ITS_END = (Ended.DONE, Ended.TRIPPED, Ended.FAILED)


def is_batch(path: Path) -> bool:
    """Whether this is the file of a batch, and not the folder of a record."""
    return path.suffix == ".json" and path.parent.name == BATCHES and not path.is_dir()


def batch_to_do(path: Path) -> tuple[Batch, tuple[CardOfBatch, ...]]:
    """A batch as its records have it by now, and its cards that are not done.

    Raises RecordError for no such file, BadInput where every card has come to its end.
    """
    results = path.parent.parent
    batch, left = read_batch(path), []
    for card in batch.cards:
        now = _as_recorded(card, results)
        batch = batch.with_card(now)
        if not now.ended:
            left.append(now)
    if not left:
        raise BadInput(f"{path}: every card of this batch has come to its end; begin anew")
    return replace(batch, ended_utc=""), tuple(left)


def _as_recorded(card: CardOfBatch, results: Path) -> CardOfBatch:
    to_do = replace(card, word=None, why=None, ended=False)
    if not card.record:
        return to_do
    try:
        run = read_run(results / card.record)
    except RecordError:
        return to_do  # its own run says what is wrong with it
    if run.ended not in _CAME_TO_ITS_END or run.verdict is RunVerdict.INCOMPLETE:
        return to_do
    return replace(card, word=run.verdict, why=run.reason, ended=True)
