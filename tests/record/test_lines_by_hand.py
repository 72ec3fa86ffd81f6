"""Lines of a table and what a record's files say against each other, written out by hand."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from burnin.core.events import ReadingTaken, StageFinished, StageStarted
from burnin.core.verdict import StageVerdict
from burnin.record import csv_rows
from burnin.record.durable import cell
from burnin.record.own_evidence import is_chained
from burnin.record.reader import read_record
from burnin.record.reasons import RecordReason
from tests.record import streams

MOST_TORN = 10_000


@pytest.mark.parametrize(
    ("raw", "found"),
    [
        (b"a,b\n1,2\n\n\n3,4\n", [(2, {"a": "1", "b": "2"}), (5, {"a": "3", "b": "4"})]),
        (b"a,b\r\n1,2\r\n\r\n3,\r\n", [(2, {"a": "1", "b": "2"}), (4, {"a": "3"})]),
        (b"a,b\n\n1,2", [(3, None)]),
        (b"a,b\n1\n1,2,3\n1,2\n", [(2, None), (3, None), (4, {"a": "1", "b": "2"})]),
        (b'a,b\n"1"x,2\n', [(2, None)]),  # no CSV by the strict rules
        (b"a,b\n1,\xff\n", [(2, None)]),
        (b"a,b\n1,2\0\n", [(2, None)]),
        (b"\xef\xbb\xbfa,b\n1,2\n", [(2, {"a": "1", "b": "2"})]),
        (b"\n1\n", [(2, None)]),
        (b"a,b\n", []),
        (b"a,b", []),
        (b"", []),
    ],
)
def test_each_line_has_its_number_and_its_cells(
    raw: bytes, found: list[tuple[int, dict[str, str] | None]]
) -> None:
    assert list(csv_rows.rows(raw)) == found
    whole = [number for number, cells in found if cells is not None]
    assert [number for number, _ in csv_rows.whole_lines(raw)] == whole


def test_whole_lines_come_as_they_stand_in_the_file() -> None:
    raw = b'a,b\r\n"1, x",2\r\ntorn\n,\n'
    assert list(csv_rows.whole_lines(raw)) == [(2, b'"1, x",2\r'), (4, b",")]


def test_after_so_many_torn_lines_no_further_one_is_read() -> None:
    few = b"a,b\n" + b"x\n" * (MOST_TORN - 1) + b"1,2\n"
    assert [cells for _, cells in csv_rows.rows(few)][-1] == {"a": "1", "b": "2"}
    assert [number for number, _ in csv_rows.whole_lines(few)] == [MOST_TORN + 1]
    many = b"a,b\n" + b"x\n" * MOST_TORN + b"1,2\n"
    assert len(list(csv_rows.rows(many))) == MOST_TORN
    assert list(csv_rows.whole_lines(many)) == []


@pytest.mark.parametrize(
    ("value", "text"),
    [(None, ""), (True, "yes"), (False, "no"), (1.0, "1"), (0.1, "0.1"), (3, "3"),
     (("a", 2), "a; 2"), ("a\r\nb\0c", "a  b c")],
)  # fmt: skip
def test_a_value_as_a_cell_holds_it(value: object, text: str) -> None:
    assert cell(value) == text


# ---- what a record says against itself


def test_stages_are_those_that_the_journal_tells(tmp_path: Path) -> None:
    folder = streams.write(tmp_path / "r", sums=False)
    told = [(s.stage, s.verdict, s.taken_over) for s in read_record(folder).stages]
    assert told == [
        ("1-enumeration", StageVerdict.PASS, True), ("2-link", StageVerdict.FAIL, False),
    ]  # fmt: skip
    content = json.loads((folder / "run.json").read_text())
    content["stages"][1]["verdict"] = "pass"
    (folder / "run.json").write_text(json.dumps(content))
    assert [s.verdict for s in read_record(folder).stages][1] is StageVerdict.FAIL
    assert read_record(folder).condition.disagrees


def test_titles_beyond_ascii_come_back(tmp_path: Path) -> None:
    start = streams.stream()[0]
    events = [start, StageStarted("1-link", "link", "Prüfung – heiß", 1.0)]
    record = read_record(streams.write(tmp_path / "r", events, sums=False))
    assert [stage.own_title for stage in record.stages] == ["Prüfung – heiß"]


def test_a_profile_that_is_not_the_one_that_was_hashed_is_told(tmp_path: Path) -> None:
    folder = streams.write(tmp_path / "r", sums=False)
    text = (folder / "run.json").read_text()
    (folder / "run.json").write_text(text.replace("format = 1", "format = 2"))
    disagrees = read_record(folder).condition.disagrees
    assert RecordReason.PROFILE_DISAGREES(file="run.json") in disagrees


def test_a_table_whose_checks_are_gone_is_told_beside_the_others(tmp_path: Path) -> None:
    folder = streams.write(tmp_path / "r", sums=False)
    file = folder / "readings.csv"
    bare = [line.rpartition(b",")[0] for line in file.read_bytes().splitlines()]
    file.write_bytes(b"\n".join(bare) + b"\n")
    assert read_record(folder).condition.edited == (RecordReason.CHAIN_GONE(file="readings.csv"),)


def test_a_torn_journal_is_no_edit_of_run_json(tmp_path: Path) -> None:
    """The end of a stage was being written: run.json, written after it, knows more."""
    start = streams.stream()[0]
    reading = ReadingTaken(streams.readings("1-link")[1])
    events = [
        start, StageStarted("1-link", "link", "", 1.0), reading,
        StageFinished("1-link", "link", StageVerdict.PASS),
    ]  # fmt: skip
    folder = streams.write(tmp_path / "r", events, sums=False)
    journal = folder / "journal.csv"
    journal.write_bytes(journal.read_bytes()[:-5])
    condition = read_record(folder).condition
    assert condition.torn
    assert not condition.edited
    assert not condition.disagrees


def test_a_record_is_chained_where_a_table_has_checks_or_none_has_a_header() -> None:
    def reads(**files: bytes) -> bool:
        return is_chained(lambda name: files.get(name.partition(".")[0]))

    assert reads(journal=b"a,chain\n")
    assert reads(journal=b"a,chain\n", readings=b"a\n")
    assert reads()
    assert reads(readings=b"", samples=b"torn")
    assert not reads(readings=b"a,b\n")
