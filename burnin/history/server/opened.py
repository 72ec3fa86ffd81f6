"""The server opened for questions: the same tables, by the views that show what counts now."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import ibis

from burnin.core.errors import BadInput
from burnin.history.meanings import HistoryReason
from burnin.history.opened import Expression
from burnin.history.server.address import Address
from burnin.history.server.connected import connected, told_of


@dataclass(frozen=True)
class ServerHistory:
    """The shop's server, asked by whoever may read."""

    connection: Any
    address: Address
    as_of: datetime

    def table(self, name: str) -> Expression:
        """A table of the store."""
        with told_of(self.address):
            return self.connection.table(name)

    def rows(self, asked: Expression) -> Sequence[dict[str, Any]]:
        """Carry an expression out; one dict a row. Raises BadInput where the server is gone."""
        with told_of(self.address):
            cursor = self.connection.raw_sql(self.connection.compile(asked))
            names = [column.name for column in cursor.description]
            with cursor:
                return [dict(zip(names, row, strict=True)) for row in cursor]


@contextmanager
def open_server(address: Address) -> Iterator[ServerHistory]:
    """Open the server for questions; raises BadInput where nothing was ever brought wholly."""
    with connected(address) as connection, told_of(address):
        last = connection.execute("SELECT synced_utc FROM store").fetchone()
        if last is None or not isinstance(last[0], datetime):
            raise BadInput(HistoryReason.NO_STORE(folder=address.shown))
        yield ServerHistory(ibis.postgres.from_connection(connection), address, last[0])
