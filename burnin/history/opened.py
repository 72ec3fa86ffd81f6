"""The store opened for questions: its tables as expressions, and as of when it speaks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Protocol, TypeAlias

import ibis

from burnin.core.errors import BadInput
from burnin.history.meanings import HistoryReason
from burnin.history.store import MOST_MEMORY, look_at, why_not

Expression: TypeAlias = Any
"""An ibis table expression; ibis has no types of its own yet."""


class History(Protocol):
    """What a question is asked of: any database that holds the tables."""

    @property
    def as_of(self) -> datetime:
        """Until when the store knows what happened, UTC without a zone."""

    def table(self, name: str) -> Expression:
        """A table of the store."""

    def rows(self, asked: Expression) -> Sequence[dict[str, Any]]:
        """Carry an expression out."""


@dataclass(frozen=True)
class OpenHistory:
    """The embedded store, opened for reading."""

    connection: Any
    as_of: datetime

    def table(self, name: str) -> Expression:
        """A table of the store."""
        return self.connection.table(name)

    def rows(self, asked: Expression) -> Sequence[dict[str, Any]]:
        """Carry an expression out; one dict a row."""
        found: list[dict[str, Any]] = asked.to_pyarrow().to_pylist()
        return found


@contextmanager
def open_history(folder: Path) -> Iterator[OpenHistory]:
    """Open a store for questions; raises BadInput where there is none, or another writes it."""
    path = look_at(folder)
    import duckdb

    try:
        connection = ibis.duckdb.connect(path, read_only=True, memory_limit=MOST_MEMORY)
    except duckdb.IOException as error:
        raise BadInput(why_not(folder, error)) from None
    try:
        synced = connection.table("store").synced_utc.max().to_pyarrow().as_py()
        if synced is None:  # its first sync was cut short
            raise BadInput(HistoryReason.NO_STORE(folder=str(folder)))
        yield OpenHistory(connection, synced)
    finally:
        connection.disconnect()
