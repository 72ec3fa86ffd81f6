"""Whether what stands on the server is what was brought there: by seals, and by the files here.

Each line is sealed over the one before it, so that one that was taken away is missed by the next;
of the last one nobody can tell, but the next sync brings it anew from its files.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any

from psycopg import sql
from psycopg.rows import dict_row

from burnin.core.meaning import Reason
from burnin.history.coming import TAKEN, Where
from burnin.history.looked_at import Looking, look_at
from burnin.history.meanings import HistoryReason
from burnin.history.places import Place, places
from burnin.history.server.address import Address
from burnin.history.server.connected import Connection, connected, told_of
from burnin.history.server.keeper import SEALED, Cells, Shelf
from burnin.history.server.seal import cells_of
from burnin.history.tables import OF_RECORD, OF_TICKET

_TABLES = {table.name: table for table in (*OF_RECORD, *OF_TICKET)}
_AT_ONCE = 200
Line = dict[str, Any]


@dataclass(frozen=True)
class Fault:
    """A line that is not as it was brought, and why."""

    place: str
    origin: str
    reason: Reason


@dataclass(frozen=True)
class Verified:
    """Lines that bear the seal, those of them that files here bear out, faults, and the others."""

    lines: int
    by_files: int
    faults: tuple[Fault, ...]
    not_verified: int


def verify(address: Address, shelf: Shelf, results: Path, how: Looking) -> Verified:
    """Compare every line with its seal, and those of this folder with its files; raises BadInput.

    Changes nothing; needs the right to read.
    """
    here = {(place.name, place.kind.value): place for place in places(results)}
    with connected(address) as connection, told_of(address):
        return _Verifying(connection, shelf, here, how).carried_out()


class _Verifying:
    def __init__(
        self, connection: Connection, shelf: Shelf, here: Mapping[Where, Place], how: Looking
    ) -> None:
        self._connection, self._shelf, self._here, self._how = connection, shelf, here, how
        self._lines = self._by_files = self._other = 0
        self._faults: list[Fault] = []
        newest = connection.execute("SELECT entry FROM newest WHERE state = %s", (TAKEN,))
        self._newest = {str(row[0]) for row in newest}

    def carried_out(self) -> Verified:
        """Go through all lines in the order in which each folder brought them."""
        last: dict[tuple[str, str], str] = {}
        with self._connection.cursor(row_factory=dict_row) as cursor:
            cursor.execute("SELECT * FROM kept_sources ORDER BY by_role, origin, seq")
            while part := list(islice(cursor, _AT_ONCE)):
                rows = self._rows([line["entry"] for line in part])
                for line in part:
                    folder = (line["by_role"], line["origin"])
                    self._look_at(line, rows[line["entry"]], last.get(folder, ""))
                    last[folder] = line["seal"]
        return Verified(self._lines, self._by_files, tuple(self._faults), self._other)

    def _look_at(self, line: Line, rows: Mapping[str, Sequence[Cells]], before: str) -> None:
        key = self._shelf.key
        if line["sealed_by"] != key.name:
            self._other += 1
            return
        if line["seal_before"] != before:
            self._fault(line, HistoryReason.LINE_MISSING())
        if key.seal(line["seal_before"], [line[name] for name in SEALED], rows) != line["seal"]:
            self._fault(line, HistoryReason.CHANGED_THERE())
            return
        self._lines += 1
        place = self._here.get((line["place"], line["kind"]))
        ours = line["origin"] == self._shelf.origin and line["entry"] in self._newest
        if ours and place is not None and place.stamp == line["stamp"]:
            self._compare(line, place)

    def _compare(self, line: Line, place: Place) -> None:
        """The line as it would be made of the files today."""
        found = look_at(place, self._how)
        told = {**line, "key": found.key, "thing": found.thing, "file_sha256": found.file_sha256}
        made = {
            name: [cells_of(_TABLES[name].columns, row) for row in table.to_pylist()]
            for name, table in found.rows.items()
        }
        seal = self._shelf.key.seal(line["seal_before"], [told[name] for name in SEALED], made)
        if seal == line["seal"]:
            self._by_files += 1
        else:
            self._fault(line, HistoryReason.NOT_AS_FILES())

    def _rows(self, sources: list[str]) -> Mapping[str, Mapping[str, list[Cells]]]:
        """Rows by line and table, in their order."""
        found: dict[str, dict[str, list[Cells]]] = defaultdict(lambda: defaultdict(list))
        for name, row in self._all_rows(sources):
            found[str(row[0])][name].append(row[1:])
        return found

    def _all_rows(self, sources: list[str]) -> Iterator[tuple[str, Cells]]:
        for name, table in _TABLES.items():
            names = ["entry", *(column.name for column in table.columns)]
            order = ["entry", "row"] if "row" in names else ["entry"]
            asked = sql.SQL("SELECT {} FROM {} WHERE entry = ANY(%s) ORDER BY {}").format(
                *(
                    sql.SQL(", ").join(map(sql.Identifier, part)) if isinstance(part, list)
                    else sql.Identifier(part)
                    for part in (names, f"kept_{name}", order)
                )
            )  # fmt: skip
            for row in self._connection.execute(asked, (sources,)):
                yield name, row

    def _fault(self, line: Line, why: Reason) -> None:
        self._faults.append(Fault(line["place"], line["by_role"], why))
