"""Every field of a record has a column in the store, and every column says what it holds."""

from __future__ import annotations

import json
from typing import Any

import pytest

from burnin.history.of_record import TABLE_OF
from burnin.history.store import open_to_write
from burnin.history.tables import ALL, IN_DATABASE, LEFT_OUT, OWED, RUNS, SAMPLES, STAGES
from burnin.record.describe import record_schema
from burnin.record.schema import tables as files
from burnin.record.schema.tables import TABLES
from tests.history.conftest import OnDisk

SCHEMA: dict[str, Any] = json.loads(record_schema())


def resolved(part: dict[str, Any]) -> dict[str, Any]:
    while "$ref" in part:
        part = SCHEMA["$defs"][part["$ref"].rpartition("/")[2]]
    return part


def paths(part: dict[str, Any], before: str = "") -> list[tuple[str, ...]]:
    """Ways to all fields of an object of the schema, down to what is no object of one kind."""
    found = []
    for name, field in part["properties"].items():
        inside = [resolved(one) for one in field.get("anyOf", [field])]
        objects = [
            one for one in inside
            if one.get("properties") and not {"code", "not_measured"} & set(one["properties"])
        ]  # fmt: skip
        here = f"{before}{name}"
        found.append(tuple(filter(None, (before.rstrip("_"), here))))
        if len(objects) == 1:
            found += paths(objects[0], f"{here}_")
    return found


LEFT = {"_".join(path) for path in LEFT_OUT}


@pytest.mark.parametrize(
    ("table", "part"),
    [
        (RUNS, resolved(SCHEMA["properties"]["run.json"])),
        (STAGES, SCHEMA["$defs"]["StageRow"]),
        (OWED, SCHEMA["$defs"]["OwedKeys"]),
    ],
    ids=["runs", "stages", "owed"],
)
def test_every_key_of_run_json_has_a_column(table: Any, part: dict[str, Any]) -> None:
    columns = {column.name for column in table.columns}
    found = paths(part)
    assert len(found) >= 3
    for *above, name in found:
        # An object is there by its own columns; what is in JSON is there with what it holds.
        there = name in columns or any(a in columns for a in above)
        there = there or any(column.startswith(f"{name}_") for column in columns)
        assert there or name in LEFT, name


@pytest.mark.parametrize("file", TABLES)
def test_every_column_of_a_table_of_the_record_has_one(file: str) -> None:
    table = SAMPLES if file == files.SAMPLES else TABLE_OF[file]
    columns = {column.name for column in table.columns}
    assert set(files.columns(TABLES[file])) <= columns


def test_what_has_no_column_is_a_field_that_there_is() -> None:
    found = {name for *_, name in paths(resolved(SCHEMA["properties"]["run.json"]))}
    assert found >= LEFT


def test_every_column_says_what_it_holds_and_every_row_where_it_is_from() -> None:
    for table in ALL:
        assert table.what
        names = [column.name for column in table.columns]
        assert len(set(names)) == len(names)
        assert names[-2:] == ["file", "file_sha256"]
        assert [column.name for column in table.columns if not column.what] == []


def test_the_database_holds_these_columns_and_their_meanings(on_disk: OnDisk) -> None:
    with open_to_write(on_disk.store) as store:
        sql = "SELECT table_name, column_name, comment FROM duckdb_columns()"
        there = {(str(t), str(c)): what for t, c, what in store.ask(sql)}
        for table in IN_DATABASE:
            for column in table.columns:
                assert str(there[table.name, column.name]).startswith(column.what)
                empty = store.ask(
                    f'SELECT count(*) FROM "{table.name}" WHERE file IS NULL OR file_sha256 IS NULL'
                )
                assert empty == [(0,)]
