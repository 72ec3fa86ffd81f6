"""Which rows of a table belong to which attempt at a stage, as the journal's heads tell.

A stage that a cut ended is begun again when the run goes on; both attempts' rows stay.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import zip_longest

from burnin.core.events import StageStarted
from burnin.record.chain import HEADED, HEADS
from burnin.record.journal import JournalEntry


def rows_before_last_attempt(
    journal: Sequence[JournalEntry], stage: str, table: str
) -> int | None:
    """How many rows a table had when a stage began last; None where nothing tells."""
    starts = [entry for entry in journal if _begins(entry, stage)]
    return _rows_told(starts[-1], table) if starts else None


def rows_of_attempts(
    journal: Sequence[JournalEntry], stage: str, table: str
) -> Iterator[slice]:
    """The rows of each attempt; those of the last one up to the end where nothing came after."""
    headed = [entry for entry in journal if entry.event in HEADED]
    for begun, then in zip_longest(headed, headed[1:]):
        first = _rows_told(begun, table) if _begins(begun, stage) else None
        if first is not None:
            yield slice(first, None if then is None else _rows_told(then, table))


def _begins(entry: JournalEntry, stage: str) -> bool:
    return entry.event == StageStarted.__name__ and entry.stage == stage


def _rows_told(entry: JournalEntry, table: str) -> int | None:
    """How many rows a table had when a line of the journal was written; None where it is silent."""
    heads = entry.detail.get(HEADS)
    head = heads.get(table) if isinstance(heads, Mapping) else None
    rows = head.get("rows") if isinstance(head, Mapping) else None
    return rows if isinstance(rows, int) else None
