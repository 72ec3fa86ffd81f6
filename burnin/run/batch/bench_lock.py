"""One batch a bench: two of them would share out the same supply twice.

Held as a card is (`run/card_lock.py`), and by the runs of the batch too: a keeper that was killed
leaves the bench free once the last of its runs has ended, and not before.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from burnin.core.errors import HeldByAnotherRun
from burnin.run.batch.meanings import BatchReason
from burnin.run.card_lock import FOLDERS, holder_at, prepare_folder, take_lock

_NAME = "batch"


def refuse_beside_batch(folders: Sequence[Path] = FOLDERS) -> None:
    """Raise HeldByAnotherRun where a batch goes on: a run of its own is in nobody's budget."""
    if any(holder_at(folder / _NAME) is not None for folder in folders):
        raise HeldByAnotherRun(BatchReason.BUDGET_SHARED())


@contextmanager
def hold_bench(
    *, simulated: bool, folders: Sequence[Path] = FOLDERS
) -> Iterator[tuple[int, ...]]:
    """Hold the bench while inside; gives the handles that its runs are to hold too.

    Raises HeldByAnotherRun where another batch goes on. A simulated bench is its own.
    """
    handles: list[int] = []
    try:
        for folder in () if simulated else folders:
            try:
                prepare_folder(folder)
                handle = take_lock(folder / _NAME, "")
            except HeldByAnotherRun as held:
                raise HeldByAnotherRun(BatchReason.BENCH_HELD()) from held
            except OSError:
                continue  # the other folder will do, as for a card
            handles.append(handle)
        if not (handles or simulated):
            raise HeldByAnotherRun(BatchReason.BENCH_NOT_HELD())
        yield tuple(handles)
    finally:
        for handle in handles:
            os.close(handle)
