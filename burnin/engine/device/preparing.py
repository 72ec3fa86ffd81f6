"""What a job does before it loads the card: it takes memory, has kernels translated, tries ways.

A driver may take longer over one kernel than a stop is given, and no call into it can be ended.
Nothing is on the card meanwhile, so a stop that is asked then has nothing to wait for: an API
says when that is so (`nothing_queued`), and asks before it queues something (`may_queue`). One that
always asks says it once (`idle`): also what stands between such calls, memory that is given back
above all, may take longer than a stop is given.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import ClassVar

from burnin.core.errors import ReasonedError


class StoppedBeforeLoad(ReasonedError):
    """The job was stopped before it loaded the card; no engine's trouble, so nothing is retried."""


class Preparing:
    """Who is told; one process works one card, and whoever watches over the process sets them.

    `on_idle` is told True when nothing is on the card and nothing will be before it is told False
    or `on_queue` is asked, as it is before anything is queued. Both may raise StoppedBeforeLoad.
    """

    on_idle: ClassVar[Callable[[bool], None]] = staticmethod(lambda _: None)
    on_queue: ClassVar[Callable[[], None]] = staticmethod(lambda: None)


@contextmanager
def nothing_queued() -> Iterator[None]:
    """What is done inside queues nothing, and was begun with nothing queued."""
    Preparing.on_idle(True)
    try:
        yield
    finally:
        Preparing.on_idle(False)


def idle() -> None:
    """Nothing is on the card, and nothing will be before `may_queue` is asked."""
    Preparing.on_idle(True)


def may_queue() -> None:
    """Raises StoppedBeforeLoad where a job that only prepares was stopped."""
    Preparing.on_queue()
