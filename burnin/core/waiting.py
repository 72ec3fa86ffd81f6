"""Whoever waits says so: how a room below tells a person that it waits, and for whom.

The command line sets a teller; a program that sets none waits without a word.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from burnin.core.meaning import Reason

_TELLER: ContextVar[Callable[[Reason], None] | None] = ContextVar("teller", default=None)


@contextmanager
def told_by(teller: Callable[[Reason], None]) -> Iterator[None]:
    """While inside, `teller` is given the reason whenever something has to be waited for."""
    token = _TELLER.set(teller)
    try:
        yield
    finally:
        _TELLER.reset(token)


def tell_waiting(why: Reason) -> None:
    """Say why there is a wait, to whoever asked to be told."""
    teller = _TELLER.get()
    if teller is not None:
        teller(why)
