"""Many places looked at, by several processes where that pays, in the order that was given."""

from __future__ import annotations

import multiprocessing
import os
import threading
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from functools import partial
from itertools import islice
from multiprocessing.connection import wait

from burnin.history.looked_at import LookedAt, Looking, Part, look_at_part
from burnin.history.places import Place

LEAST_A_JOB = 100
"""A process takes about a second to begin; for fewer places none is worth it."""
_PART = 32
"""Places that a process is given at once."""


def most_jobs(count: int) -> int:
    """Processes that pay for so many places."""
    return max(1, min(os.cpu_count() or 1, count // LEAST_A_JOB))


def looked_at(found: Sequence[Place], how: Looking, jobs: int) -> Iterator[LookedAt]:
    """Each place as it was found; of what lies ahead no more than a few are held in memory."""
    parts = (found[at : at + _PART] for at in range(0, len(found), _PART))
    if jobs < 2:
        for part in map(partial(look_at_part, how=how), parts):
            yield from part.one_by_one()
        return
    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(jobs, mp_context=context, initializer=_end_with_parent)
    try:
        waiting: list[Future[Part]] = []
        while True:
            for given in islice(parts, 2 * jobs - len(waiting)):
                waiting.append(pool.submit(look_at_part, given, how))
            if not waiting:
                return
            yield from waiting.pop(0).result().one_by_one()
    finally:
        pool.shutdown(cancel_futures=True)


def _end_with_parent() -> None:
    """A process whose parent was killed ends at once: nobody waits for what it reads."""
    parent = multiprocessing.parent_process()
    assert parent is not None

    def watch(sentinel: int) -> None:
        wait([sentinel])
        os._exit(1)

    threading.Thread(target=watch, args=(parent.sentinel,), daemon=True).start()
