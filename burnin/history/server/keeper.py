"""The server while a bench brings it up to date: lines are added, none is changed."""

from __future__ import annotations

import hashlib
import platform
from collections import defaultdict
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from psycopg import sql

from burnin.history.columns import Column
from burnin.history.coming import GONE, Arrived, Coming, Known, Where
from burnin.history.server.address import Address
from burnin.history.server.connected import Connection, connected, told_of
from burnin.history.server.layout import KEPT_SOURCES, OF_SOURCE
from burnin.history.server.seal import SealKey, cells_of
from burnin.history.tables import OF_RECORD, OF_TICKET, SOURCES

_TABLES = {table.name: table for table in (*OF_RECORD, *OF_TICKET)}
_WAIT_MS = 5000
SEALED = ("origin", "thing", *(column.name for column in SOURCES.columns))
"""What of a line stands under its seal, beside its rows."""
Cells = tuple[object, ...]


@dataclass(frozen=True)
class Shelf:
    """What on the server is this machine's and this folder's, and the key that seals it."""

    origin: str
    key: SealKey


def origin_of(results: Path) -> str:
    """A name for this machine's folder of results that tells nothing of either."""
    told = f"{platform.node()}\n{results.resolve()}"
    return hashlib.sha256(told.encode("utf-8", "surrogateescape")).hexdigest()[:16]


@contextmanager
def server_keeper(address: Address, shelf: Shelf) -> Iterator[ServerKeeper]:
    """Connect to bring it up to date; raises BadInput where another process of this folder does."""
    with connected(address) as connection, told_of(address):
        connection.execute("SELECT set_config('lock_timeout', %s, false)", (f"{_WAIT_MS}",))
        lock = "SELECT pg_advisory_lock(hashtextextended(session_user || %s, 0))"
        connection.execute(lock, (f"/{shelf.origin}",))
        yield ServerKeeper(connection, shelf)


class ServerKeeper:
    """A `Keeper` of the shop's server."""

    def __init__(self, connection: Connection, shelf: Shelf) -> None:
        self._connection, self._shelf = connection, shelf
        found = connection.execute(
            "SELECT place, kind, stamp, state, key FROM mine WHERE origin = %s", (shelf.origin,)
        )
        self._known: dict[Where, Known] = {
            (str(row[0]), str(row[1])): Known(*map(str, row[2:])) for row in found
        }
        sealed = "SELECT seal FROM last_seal WHERE origin = %s"
        last = connection.execute(sealed, (shelf.origin,)).fetchone()
        self._seal = str(last[0]) if last is not None else ""

    @property
    def samples(self) -> Path | None:
        """They stay with the record."""
        return None

    def known(self) -> Mapping[Where, Known]:
        """Every place that was looked at."""
        return self._known

    def keep(self, coming: Coming, still_there: frozenset[str]) -> None:
        """Add lines with their rows; places whose run went elsewhere hold nothing any more."""
        del still_there
        seal, lines = self._seal, list[Cells]()
        rows: dict[str, list[Cells]] = defaultdict(list)
        known = dict(self._known)
        for one in (*coming.arrived, *self._gone(coming)):
            source, made, seal = self._sealed(one, seal)
            lines.append(cells_of(KEPT_SOURCES, source))
            for name, cells in made.items():
                rows[name] += [(source["entry"], *row) for row in cells]
            where = (str(source["place"]), str(source["kind"]))
            known[where] = Known(str(source["stamp"]), str(source["state"]), str(source["key"]))
        with self._connection.transaction():
            self._copy("kept_sources", KEPT_SOURCES, lines)
            for name, cells in rows.items():
                self._copy(f"kept_{name}", (OF_SOURCE[0], *_TABLES[name].columns), cells)
        self._seal, self._known = seal, known

    def close_off(self, *, all_seen: bool) -> None:
        """Say until when this folder's story is known."""
        if all_seen:
            told = "INSERT INTO kept_syncs (origin) VALUES (%s)"
            self._connection.execute(told, (self._shelf.origin,))

    def _gone(self, coming: Coming) -> Iterator[Arrived]:
        """Places with a run that was moved or changed: each is looked at anew next time."""
        old, fresh = set(coming.old_runs), {one.source["place"] for one in coming.arrived}
        for (place, kind), known in self._known.items():
            if known.key in old and place not in fresh and known.state != GONE:
                source = {
                    "place": place, "kind": kind, "state": GONE, "key": known.key, "stamp": "",
                    "reason": "", "reason_data": "{}", "file": place, "file_sha256": "",
                    "taken_utc": datetime.now(UTC).replace(tzinfo=None),
                }  # fmt: skip
                yield Arrived(source, known.key)

    def _sealed(
        self, one: Arrived, before: str
    ) -> tuple[dict[str, object], Mapping[str, list[Cells]], str]:
        shelf = self._shelf
        source = {**one.source, "origin": shelf.origin, "thing": one.thing}
        made = {
            name: [cells_of(_TABLES[name].columns, row) for row in table.to_pylist()]
            for name, table in one.rows.items()
        }
        seal = shelf.key.seal(before, [source.get(name) for name in SEALED], made)
        source |= {"seal": seal, "seal_before": before, "sealed_by": shelf.key.name}
        return {**source, "entry": seal[:32]}, made, seal

    def _copy(self, table: str, columns: tuple[Column, ...], rows: list[Cells]) -> None:
        names = sql.SQL(", ").join(sql.Identifier(column.name) for column in columns)
        into = sql.SQL("COPY {} ({}) FROM STDIN").format(sql.Identifier(table), names)
        with self._connection.cursor() as cursor, cursor.copy(into) as copy:
            for row in rows:
                copy.write_row(row)
