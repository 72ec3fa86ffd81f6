"""A batch gone on with after a cut or a stop: which of its cards are done, and what is left to do.

A card that came to its word is not burnt in again, also where the cut came between its word and the
batch's file: its record says it. One that was stopped, killed or cut goes on in its own record; one
whose run had not begun begins. A word that is told again is that of its record, as far as the
record bears it out: what a batch's file says of a record is believed by nobody.
"""

from __future__ import annotations

from collections.abc import Container
from dataclasses import replace
from pathlib import Path

from burnin.core.errors import BurninError, RecordError
from burnin.core.meaning import Reason
from burnin.core.verdict import Ended, RunVerdict
from burnin.record.batches.batch import BATCHES, Batch, CardOfBatch, read_batch
from burnin.record.reader import read_record
from burnin.record.run_file import read_run
from burnin.record.schema.run import RunFile
from burnin.report.sheet.printed_verdict import printed_verdict
from burnin.report.sheet.run_stages import run_stages
from burnin.run.batch.meanings import BatchReason

_CAME_TO_ITS_END = (Ended.DONE, Ended.TRIPPED, Ended.FAILED)


def is_batch(path: Path) -> bool:
    """Whether this is the file of a batch, and not the folder of a record."""
    return path.suffix == ".json" and path.parent.name == BATCHES and not path.is_dir()


def batch_to_do(path: Path) -> tuple[Batch, tuple[CardOfBatch, ...]]:
    """A batch as its records have it by now, and its cards that are not done.

    Raises RecordError for no such file.
    """
    results = path.parent.parent
    batch, left = read_batch(path), []
    for card in batch.cards:
        now = _as_recorded(card, results)
        batch = batch.with_card(now)
        if not now.ended:
            left.append(now)
    return replace(batch, ended_utc="") if left else batch, tuple(left)


def borne_out(batch: Batch, results: Path, just_done: Container[str] = ()) -> Batch:
    """A batch with each card's word as its record bears it out.

    `just_done`: addresses of cards whose runs this process has just heard to their end.
    """
    for card in batch.cards:
        if card.address not in just_done:
            batch = batch.with_card(_looked_over(card, results))
    return batch


def _as_recorded(card: CardOfBatch, results: Path) -> CardOfBatch:
    to_do = replace(card, word=None, why=None, ended=False)
    if not card.record:
        return to_do
    try:
        run = read_run(results / card.record)
    except RecordError:
        return to_do  # its own run says what is wrong with it
    if not _is_of(run, card):
        return replace(card, word=None, why=_others_record(card), ended=True)
    if run.ended not in _CAME_TO_ITS_END or run.verdict is RunVerdict.INCOMPLETE:
        return to_do
    return replace(card, word=run.verdict, why=run.reason, ended=True)


def _is_of(run: RunFile, card: CardOfBatch) -> bool:
    """Whether a record is of the run, and of the place, that the batch has for it."""
    there = run.card is None or run.card.address.lower() == card.address.lower()
    return there and run.run_id == card.run_id


def _looked_over(card: CardOfBatch, results: Path) -> CardOfBatch:
    """A card with its word as a sheet prints it; without a closed record it has none."""
    told = card.why if card.word is None else None
    none = replace(card, word=None, why=told)
    if not card.record:
        return none
    try:
        run = read_run(results / card.record)
        if not _is_of(run, card):
            return replace(none, why=_others_record(card), ended=True)
        if not run.ended_utc:
            return none
        record = read_record(results / card.record)
        word, why = printed_verdict(record, run_stages(record))
    except BurninError as error:
        return replace(none, why=told or BatchReason.RECORD_UNREADABLE(words=error.told))
    none = replace(none, why=why if isinstance(why, Reason) else told, ended=True)
    return none if word is RunVerdict.INCOMPLETE else replace(none, word=word)


def _others_record(card: CardOfBatch) -> Reason:
    return BatchReason.OTHERS_RECORD(record=card.record, address=card.address)
