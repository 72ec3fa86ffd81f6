"""The database of the history: an embedded one, in a folder beside the records.

One process writes at a time; whoever only asks opens it for reading. It is made from records and
logs alone: a store of another layout is made anew, and one that is deleted costs nothing but time.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import duckdb
import pyarrow as pa

from burnin.core.errors import BadInput
from burnin.core.files.private_files import private_folder
from burnin.core.meaning import Reason
from burnin.history.columns import Kind
from burnin.history.meanings import HistoryReason
from burnin.history.tables import CARDS_VIEW, IN_DATABASE, Table, layout

FOLDER = ".history"
"""Below the results; no ticket's folder begins with a dot."""
FILE = "history.duckdb"
MOST_MEMORY = "1GB"
"""What the database may take; what does not fit it lays into files beside its own."""
_OF_FILE = (FILE, f"{FILE}.wal")
_SQL = {
    Kind.TEXT: "VARCHAR",
    Kind.WHOLE: "BIGINT",
    Kind.NUMBER: "DOUBLE",
    Kind.TRUTH: "BOOLEAN",
    Kind.MOMENT: "TIMESTAMP",
    Kind.PLAIN: "VARCHAR",
}


def store_folder(results: Path) -> Path:
    """Where the store of these results lies, unless another place is named."""
    return results / FOLDER


class Store:
    """The open database, for writing: whole transactions only."""

    def __init__(self, folder: Path, connection: duckdb.DuckDBPyConnection) -> None:
        self.folder, self._connection = folder, connection

    def ask(self, sql: str, given: Sequence[object] = ()) -> list[tuple[object, ...]]:
        """The rows that a statement gives."""
        return self._connection.execute(sql, list(given)).fetchall()

    def add(self, table: Table, rows: pa.Table) -> None:
        """Append rows to a table."""
        if rows.num_rows:
            self._connection.register("coming", rows.combine_chunks())
            names = ", ".join(f'"{column.name}"' for column in table.columns)
            self._connection.execute(
                f'INSERT INTO "{table.name}" ({names}) SELECT {names} FROM coming'
            )
            self._connection.unregister("coming")

    def remove(self, table: Table, column: str, values: Sequence[str]) -> None:
        """Take away the rows of a table whose `column` is one of `values`."""
        if values:
            places = ", ".join("?" for _ in values)
            sql = f'DELETE FROM "{table.name}" WHERE "{column}" IN ({places})'
            self._connection.execute(sql, list(values))

    def remove_pairs(self, table: Table, columns: tuple[str, str], rows: pa.Table) -> None:
        """Take away the rows of a table that have both `columns` as one of `rows` has them."""
        if rows.num_rows:
            self._connection.register("coming", rows)
            same = " AND ".join(f'"{table.name}"."{name}" = coming."{name}"' for name in columns)
            self._connection.execute(f'DELETE FROM "{table.name}" USING coming WHERE {same}')
            self._connection.unregister("coming")

    @contextmanager
    def whole(self) -> Iterator[None]:
        """What is changed inside is there wholly, or not at all, whenever the power goes."""
        self._connection.begin()
        try:
            yield
        except BaseException:
            self._connection.rollback()
            raise
        self._connection.commit()


@contextmanager
def open_to_write(folder: Path) -> Iterator[Store]:
    """Open a store, made anew where there is none, or one of another layout.

    Raises BadInput where another process holds it.
    """
    private_folder(folder)
    if not _is_of_this_layout(folder):
        for name in _OF_FILE:
            (folder / name).unlink(missing_ok=True)
    connection = _connected(folder, read_only=False)
    try:
        _lay_out(connection)
        yield Store(folder, connection)
    except (duckdb.IOException, duckdb.TransactionException) as error:
        raise BadInput(why_not(folder, error)) from None
    finally:
        connection.close()


def look_at(folder: Path) -> Path:
    """The file of a store that can be asked; raises BadInput where there is none."""
    if not (folder / FILE).exists():
        raise BadInput(HistoryReason.NO_STORE(folder=str(folder)))
    if not _is_of_this_layout(folder):
        raise BadInput(HistoryReason.OTHER_LAYOUT(folder=str(folder)))
    return folder / FILE


def _connected(folder: Path, *, read_only: bool) -> duckdb.DuckDBPyConnection:
    try:
        more: dict[str, str | bool | int | float | list[str]] = {"memory_limit": MOST_MEMORY}
        return duckdb.connect(str(folder / FILE), read_only=read_only, config=more)
    except duckdb.Error as error:
        raise BadInput(why_not(folder, error)) from None


def why_not(folder: Path, error: duckdb.Error) -> Reason:
    """Why a store cannot be opened or written, from what the database says."""
    if "lock" in str(error).lower():
        return HistoryReason.STORE_HELD(folder=str(folder))
    return HistoryReason.STORE_BROKEN(folder=str(folder), words=str(error))


def _is_of_this_layout(folder: Path) -> bool:
    if not (folder / FILE).exists():
        return True
    connection = _connected(folder, read_only=True)
    try:
        found = connection.execute("SELECT layout FROM store").fetchall()
    except duckdb.CatalogException:
        return False
    finally:
        connection.close()
    return found == [(layout(),)]


def _lay_out(connection: duckdb.DuckDBPyConnection) -> None:
    """Make what is missing of tables, in one piece."""
    connection.begin()
    connection.execute("CREATE TABLE IF NOT EXISTS store (layout VARCHAR, synced_utc TIMESTAMP)")
    for table in IN_DATABASE:
        columns = ", ".join(f'"{column.name}" {_SQL[column.kind]}' for column in table.columns)
        connection.execute(f'CREATE TABLE IF NOT EXISTS "{table.name}" ({columns})')
    connection.execute(CARDS_VIEW)
    if not connection.execute("SELECT 1 FROM store").fetchall():
        connection.execute("INSERT INTO store VALUES (?, NULL)", [layout()])
        for table in IN_DATABASE:
            for column in table.columns:
                unit = f" ({column.unit})" if column.unit else ""
                told = f"{column.what}{unit}".replace("'", "''")
                sql = f'COMMENT ON COLUMN "{table.name}"."{column.name}" IS \'{told}\''
                connection.execute(sql)
    connection.commit()
