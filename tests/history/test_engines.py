"""One set of questions, three engines: the same rows from DuckDB, PostgreSQL and plain loops."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from burnin.history.answer import Asked
from burnin.history.coming import TAKEN, Arrived, Coming
from burnin.history.opened import History, open_history
from burnin.history.questions.registry import QUESTIONS, ask
from burnin.history.rows import arrow
from burnin.history.server.address import address_of
from burnin.history.server.keeper import Shelf, server_keeper
from burnin.history.server.laying_out import lay_out
from burnin.history.server.layout import SCHEMA
from burnin.history.server.opened import open_server
from burnin.history.server.seal import SealKey
from burnin.history.store import open_to_write
from burnin.history.tables import IN_DATABASE, OF_RECORD, OF_TICKET
from tests.history.odd_rows import odd_rows
from tests.history.postgres import TOOL, server

QUICK = (("came-back", "repair"), ("owed", ""), ("life", ""), ("stages", ""))
WAYS = [
    pytest.param(name, by, marks=[] if (name, by) in QUICK else [pytest.mark.long])
    for name, question in QUESTIONS.items() for by in question.ways or ("",)
]  # fmt: skip
APART = 1e-9


@pytest.fixture(scope="module")
def both(
    require_tool: Callable[[str], str], tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[History, History]]:
    """The odd shop in the embedded store and on a server."""
    require_tool(TOOL)
    until, rows = odd_rows()
    folder: Path = tmp_path_factory.mktemp("odd")
    with open_to_write(folder) as store, store.whole():
        for table in IN_DATABASE:
            store.add(table, arrow(table, rows[table.name]))
        store.ask("UPDATE store SET synced_utc = ?", (until,))
    with server() as postgres:
        address = address_of(postgres.url())
        lay_out(address)
        with server_keeper(address, Shelf("here", SealKey.of(b"k"))) as keeper:
            keeper.keep(Coming([_at_once(rows)]), frozenset())
            keeper.close_off(all_seen=True)
        postgres.ask(f"ANALYZE {SCHEMA}.kept_runs")
        with open_history(folder) as embedded, open_server(address) as there:
            yield embedded, replace(there, as_of=until)


def _at_once(rows: dict[str, list[dict[str, Any]]]) -> Arrived:
    source: dict[str, object] = {
        "place": "all", "kind": "record", "state": TAKEN, "key": "k", "stamp": "s", "reason": "",
        "reason_data": "{}", "taken_utc": datetime.now(UTC).replace(tzinfo=None), "file": "all",
        "file_sha256": "",
    }  # fmt: skip
    tables = (*OF_RECORD, *OF_TICKET)
    return Arrived(source, "all", {t.name: arrow(t, rows[t.name]) for t in tables})


def _alike(one: object, other: object) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return math.isclose(one, other, rel_tol=APART, abs_tol=APART) or (
            math.isnan(one) and math.isnan(other)
        )
    return one == other


def _in_order(rows: Sequence[dict[str, Any]]) -> list[list[tuple[str, Any]]]:
    """Rows in an order that depends on nothing but themselves."""
    return sorted((sorted(row.items()) for row in rows), key=repr)


@pytest.mark.parametrize(("name", "by"), WAYS)
def test_every_engine_gives_the_same_rows_and_the_same_answer(
    both: tuple[History, History], name: str, by: str
) -> None:
    question, asked = QUESTIONS[name], Asked(by=by, card="R-000002")
    found = [_in_order(history.rows(question.rows(history, asked))) for history in both]
    assert len(found[0]) == len(found[1]) > 0
    for one, other in zip(*found, strict=True):
        for (column, cell), (same, there) in zip(one, other, strict=True):
            assert (column, True) == (same, _alike(cell, there)), (column, cell, there)
    # The answers too, row by row: ties stand in one order, whatever order rows came in.
    answers = [ask(history, question, asked) for history in both]
    assert len(answers[0].rows) == len(answers[1].rows) > 0
    for line, there in zip(answers[0].rows, answers[1].rows, strict=True):
        assert all(map(_alike, line, there)), (line, there)
