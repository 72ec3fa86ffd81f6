"""A record is read as far as it is whole, and never further."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.core.errors import RecordError
from burnin.record.reader import read_record
from burnin.record.torn_csv import parse_rows
from burnin.report.content import compose
from tests.report import records

CELL = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\r\n\0"), max_size=8)
ROWS = st.lists(st.tuples(CELL, CELL, CELL).map(list), max_size=6)


def as_csv(rows: list[list[str]]) -> bytes:
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows([["a", "b", "c"], *rows])
    return out.getvalue().encode()


@given(ROWS, st.data())
def test_a_cut_anywhere_costs_at_most_the_line_it_hits(
    rows: list[list[str]], draw: st.DataObject
) -> None:
    whole = as_csv(rows)
    cut = draw.draw(st.integers(0, len(whole)))
    read = [list(row.values()) for row in parse_rows(whole[:cut], "t.csv").rows]
    complete = whole[:cut].count(b"\n") - 1
    assert read == rows[: max(0, complete)]


@given(ROWS, st.data())
def test_lines_after_a_torn_one_are_read(rows: list[list[str]], draw: st.DataObject) -> None:
    torn = '"x,y'
    whole = as_csv(rows) + torn.encode() + b"\n" + b"1,2,3\n"
    read = [list(row.values()) for row in parse_rows(whole, "t.csv").rows]
    assert read == [*rows, ["1", "2", "3"]]


@given(st.binary(max_size=300))
def test_any_bytes_are_read_without_an_error(raw: bytes) -> None:
    for row in parse_rows(raw, "t.csv").rows:
        assert all(isinstance(cell, str) for cell in row.values())


def test_zero_bytes_left_by_a_power_cut_are_no_row() -> None:
    parsed = parse_rows(b"a,b,c\n1,2,3\n\0\0\0,\0,\0\n", "t.csv")
    assert [row["a"] for row in parsed.rows] == ["1"]
    assert parsed.cut_short
    assert "1 torn line" in parsed.flaws[0]


def test_a_folder_without_run_json_is_refused_in_plain_words(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match=r"holds no run\.json"):
        read_record(tmp_path)


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        ("", "not JSON"),
        ("{", "not JSON"),
        ("[]", "one JSON object"),
        ('{"format": 2}', "reads format 1"),
        ("[" * 100_000, "not JSON"),
    ],
)
def test_a_run_json_that_is_none_is_refused(tmp_path: Path, text: str, complaint: str) -> None:
    (tmp_path / "run.json").write_text(text)
    with pytest.raises(RecordError, match=complaint):
        read_record(tmp_path)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(["stage", "verdict", "name", "not_measured", "started_s", "title"]),
            inner,
            max_size=4,
        )
    ),
    max_leaves=12,
)
KEYS = st.sampled_from(
    ["card", "engine", "profile", "ticket", "stages", "owed", "guards", "bench", "tool", "verdict"]
)


@given(st.dictionaries(KEYS, JSON, max_size=8))
def test_wrong_types_in_run_json_never_make_a_pass(
    tmp_path_factory: pytest.TempPathFactory, facts: dict[str, object]
) -> None:
    folder = tmp_path_factory.mktemp("record")
    (folder / "run.json").write_text(json.dumps({**facts, "format": 1}))
    assert compose(read_record(folder)).verdict != "pass"


def test_a_power_cut_names_the_stage_it_hit_and_those_that_never_ran(tmp_path: Path) -> None:
    content = compose(read_record(records.power_cut(tmp_path / "r")))
    marks = [(stage.number, stage.mark.word) for stage in content.stages]
    assert marks == [
        ("1", "PASS"),
        ("2", "PASS"),
        ("3", "PASS"),
        ("4", "NOT FINISHED"),
        ("5", "NOT TESTED"),
        ("6", "NOT TESTED"),
        ("7", "NOT TESTED"),
    ]
    assert content.verdict == "incomplete"
    assert len(content.flaws) == 3


def test_a_repeated_stage_is_judged_by_its_last_reading_but_no_failure_is_hidden(
    tmp_path: Path,
) -> None:
    draft = records.passed()
    earlier = draft.readings[5]
    draft.readings.insert(0, {**earlier, "value": "", "verdict": "not measured", "reason": "cut"})
    draft.readings.insert(0, {**earlier, "value": "none", "verdict": "fail", "reason": "was dark"})
    record = read_record(draft.write(tmp_path / "r"))
    of_same_name = [row.verdict for row in record.readings if row.name == earlier["reading"]]
    assert of_same_name == ["fail", ""]


def test_a_file_changed_after_the_run_is_noticed(tmp_path: Path) -> None:
    folder = records.passed().write(tmp_path / "r")
    assert read_record(folder).altered == ()
    changed = (folder / "readings.csv").read_text().replace("287.4", "187.4")
    (folder / "readings.csv").write_text(changed)
    assert read_record(folder).altered == ("readings.csv",)
