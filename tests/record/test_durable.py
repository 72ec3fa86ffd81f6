"""Rows are on disk as they come; a file that is replaced is whole, the old one or the new."""

from __future__ import annotations

import csv
import errno
import io
import json
import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.core.errors import RecordError
from burnin.record import csv_rows
from burnin.record.durable import DurableTable, cell, write_json
from tests.refusals import refused

text = st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=40)


def read_rows(path: Path) -> list[dict[str, str]]:
    return [row for _, row in csv_rows.rows(path.read_bytes()) if row is not None]


@given(rows=st.lists(st.tuples(text, text), min_size=1, max_size=8), data=st.data())
def test_cut_anywhere_all_rows_but_the_last_survive(
    tmp_path_factory: pytest.TempPathFactory, rows: list[tuple[str, str]], data: st.DataObject
) -> None:
    path = tmp_path_factory.mktemp("table") / "t.csv"
    table = DurableTable(path, ("a", "b"))
    ends = []
    for a, b in rows:
        table.append({"a": a, "b": b})
        ends.append(path.stat().st_size)
    table.close()
    cut = data.draw(st.integers(0, ends[-1]))
    os.truncate(path, cut)
    whole = sum(1 for end in ends if end <= cut)
    found = [(row.get("a", ""), row.get("b", "")) for row in read_rows(path)]
    assert found == rows[:whole]


@given(cut=st.integers(0, 18))
def test_appending_to_a_torn_file_keeps_the_new_rows_whole(
    tmp_path_factory: pytest.TempPathFactory, cut: int
) -> None:
    path = tmp_path_factory.mktemp("table") / "t.csv"
    table = DurableTable(path, ("a", "b"))
    table.append({"a": "one", "b": 10})
    table.append({"a": "two", "b": 25})
    table.close()
    os.truncate(path, path.stat().st_size - cut)
    again = DurableTable(path, ("a", "b"))
    again.append({"a": "three", "b": 30})
    again.close()
    survivors = [("one", "10"), ("two", "25")][: 2 if cut == 0 else 1 if cut <= 7 else 0]
    assert [(row["a"], row["b"]) for row in read_rows(path)] == [*survivors, ("three", "30")]


def test_every_row_is_there_before_the_next_is_written(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    table = DurableTable(path, ("a",))
    for number in range(5):
        table.append({"a": number})
        assert len(read_rows(path)) == number + 1
    table.close()


def test_each_row_is_synced_once_after_it_was_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "t.csv"
    synced: list[int] = []

    def sync(handle: int) -> None:
        synced.append(os.fstat(handle).st_size)
        real(handle)

    real = os.fdatasync
    monkeypatch.setattr(os, "fdatasync", sync)
    table = DurableTable(path, ("a",))
    sizes = [path.stat().st_size]
    for number in range(4):
        table.append({"a": number})
        sizes.append(path.stat().st_size)
    table.close()
    assert synced == sizes


def test_short_writes_lose_nothing_and_a_full_disk_tears_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "t.csv"
    table = DurableTable(path, ("a", "b"))
    real = os.write
    monkeypatch.setattr(os, "write", lambda handle, text: real(handle, text[:2]))
    table.append({"a": "one", "b": "two"})
    left = [3]

    def full(handle: int, text: bytes) -> int:
        if left[0] <= 0:
            raise OSError(errno.ENOSPC, "no space left")
        left[0] -= 1
        return real(handle, text[:1])

    monkeypatch.setattr(os, "write", full)
    with pytest.raises(OSError, match="no space"):
        table.append({"a": "three", "b": "four"})
    monkeypatch.setattr(os, "write", real)
    table.append({"a": "five", "b": "six"})
    table.close()
    assert path.read_text() == "a,b\none,two\nfive,six\n"


def test_line_breaks_and_zero_bytes_stay_out_of_cells(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    table = DurableTable(path, ("a",))
    table.append({"a": 'one\ntwo, "three"\r\n\0\ud800'})
    table.close()
    rows = list(csv.reader(io.StringIO(path.read_text())))
    assert rows == [["a"], ['one two, "three"   ?']]


def test_a_surplus_column_is_refused(tmp_path: Path) -> None:
    table = DurableTable(tmp_path / "t.csv", ("a",))
    with pytest.raises(KeyError, match="no such column: b"):
        table.append({"b": 1})
    table.close()


def test_a_table_with_other_columns_is_not_gone_on_with(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    DurableTable(path, ("a", "b")).close()
    with refused(RecordError, match="other columns"):
        DurableTable(path, ("a", "c"))
    assert path.read_text() == "a,b\n"


@given(st.floats(allow_nan=False))
def test_a_number_comes_back_to_its_last_digit(value: float) -> None:
    assert float(cell(value)) == value


def test_json_is_replaced_as_a_whole(tmp_path: Path) -> None:
    path = tmp_path / "run.json"
    write_json(path, {"verdict": "incomplete"})
    write_json(path, {"verdict": "pass"})
    assert json.loads(path.read_text()) == {"verdict": "pass"}
    assert [p.name for p in tmp_path.iterdir()] == ["run.json"]
