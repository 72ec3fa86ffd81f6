"""A record: rows are on disk as they come, and a torn file loses at most its last line."""

from __future__ import annotations

import csv
import hashlib
import io
import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.core.errors import RecordError
from burnin.record.checksums import write_checksums
from burnin.record.rows import read_facts, read_rows
from burnin.record.writer import DurableTable, write_json

text = st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=40)


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
    found = [(row["a"], row["b"]) for row in read_rows(path)]
    assert found == rows[:whole]


def test_appending_to_a_torn_file_keeps_the_new_rows_whole(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    table = DurableTable(path, ("a", "b"))
    table.append({"a": "one", "b": 1})
    table.append({"a": "two", "b": 2})
    table.close()
    os.truncate(path, path.stat().st_size - 3)
    again = DurableTable(path, ("a", "b"))
    again.append({"a": "three", "b": 3})
    again.close()
    assert [row["a"] for row in read_rows(path) if row["b"]] == ["one", "three"]


def test_every_row_is_there_before_the_next_is_written(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    table = DurableTable(path, ("a",))
    for number in range(5):
        table.append({"a": number})
        assert len(read_rows(path)) == number + 1
    table.close()


def test_line_breaks_stay_inside_their_row(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    table = DurableTable(path, ("a",))
    table.append({"a": "one\ntwo, \"three\"\r\n"})
    table.close()
    rows = list(csv.reader(io.StringIO(path.read_text())))
    assert rows == [["a"], ['one two, "three"  ']]


def test_a_surplus_column_is_refused(tmp_path: Path) -> None:
    table = DurableTable(tmp_path / "t.csv", ("a",))
    with pytest.raises(KeyError, match="no such column: b"):
        table.append({"b": 1})
    table.close()


def test_json_is_replaced_as_a_whole(tmp_path: Path) -> None:
    path = tmp_path / "run.json"
    write_json(path, {"verdict": "incomplete"})
    write_json(path, {"verdict": "pass"})
    assert read_facts(tmp_path)["verdict"] == "pass"
    assert [p.name for p in tmp_path.iterdir()] == ["run.json"]


@pytest.mark.parametrize("content", [None, "", "{", "[]"])
def test_a_folder_that_is_no_record_is_told_so(tmp_path: Path, content: str | None) -> None:
    if content is not None:
        (tmp_path / "run.json").write_text(content)
    with pytest.raises(RecordError):
        read_facts(tmp_path)


def test_checksums_are_those_of_sha256(tmp_path: Path) -> None:
    (tmp_path / "samples.csv").write_text("a\n1\n")
    line = write_checksums(tmp_path).read_text()
    assert line == f"{hashlib.sha256(bytes([97, 10, 49, 10])).hexdigest()}  samples.csv\n"


def test_a_new_sheet_does_not_vouch_for_changed_data(tmp_path: Path) -> None:
    (tmp_path / "samples.csv").write_text("a\n1\n")
    (tmp_path / "sheet.html").write_text("old")
    first = write_checksums(tmp_path).read_text()
    (tmp_path / "samples.csv").write_text("a\n2\n")
    (tmp_path / "sheet.html").write_text("new")
    again = write_checksums(tmp_path, keep_data=True).read_text()
    assert first.splitlines()[0] == again.splitlines()[0]
    assert first.splitlines()[1] != again.splitlines()[1]
