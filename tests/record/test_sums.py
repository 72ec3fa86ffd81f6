"""Checksums, and what they find: one implementation for the reader and for who goes on."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from burnin.record.reader import read_record
from burnin.record.reasons import RecordReason
from burnin.record.sums import DATA_FILES, changed_data, write_checksums
from tests.record import streams


def test_checksums_are_those_of_sha256(tmp_path: Path) -> None:
    (tmp_path / "samples.csv").write_text("a\n1\n")
    line = write_checksums(tmp_path).read_text()
    assert line == f"{hashlib.sha256(bytes([97, 10, 49, 10])).hexdigest()}  samples.csv\n"


def test_a_new_sheet_does_not_vouch_for_changed_or_added_data(tmp_path: Path) -> None:
    (tmp_path / "samples.csv").write_text("a\n1\n")
    (tmp_path / "sheet.html").write_text("old")
    first = write_checksums(tmp_path).read_text()
    (tmp_path / "samples.csv").write_text("a\n2\n")
    (tmp_path / "failing_words.csv").write_text("a\n")
    (tmp_path / "sheet.html").write_text("new")
    again = write_checksums(tmp_path, keep_data=True).read_text()
    assert first.splitlines()[0] == again.splitlines()[0]
    assert first.splitlines()[1] != again.splitlines()[1]
    assert len(again.splitlines()) == 2
    assert changed_data(tmp_path) == ["samples.csv", "failing_words.csv"]


def test_nothing_is_edited_in_an_untouched_record_or_without_checksums(tmp_path: Path) -> None:
    folder = streams.write(tmp_path / "r")
    assert changed_data(folder) == []
    assert read_record(folder).condition.vouched
    (folder / "checksums.sha256").unlink()
    (folder / "samples.csv").write_text("changed\n")
    assert changed_data(folder) == []
    assert not read_record(folder).condition.vouched


@pytest.mark.parametrize("name", DATA_FILES)
def test_one_byte_of_any_file_is_noticed_by_reader_and_resume_alike(
    tmp_path: Path, name: str
) -> None:
    folder = tmp_path / "r"
    folder.mkdir()
    (folder / "failing_words.csv").write_text("address_bytes,expected,got\n0x0,0x1,0x2\n")
    streams.write(folder)
    raw = bytearray((folder / name).read_bytes())
    place = raw.rfind(b"1")
    assert place > 0
    raw[place : place + 1] = b"2"
    (folder / name).write_bytes(bytes(raw))
    assert changed_data(folder) == [name]
    edited = read_record(folder).condition.edited
    assert edited[0] == RecordReason.CHANGED_SINCE_SUMS(file=name)
    assert {flaw["file"] for flaw in edited} == {name}


@pytest.mark.parametrize("name", [n for n in DATA_FILES if n != "run.json"])
def test_a_file_taken_away_or_put_there_is_noticed(tmp_path: Path, name: str) -> None:
    folder = streams.write(tmp_path / "r")
    if (folder / name).exists():
        (folder / name).unlink()
        edited = read_record(folder).condition.edited
        assert edited[0] == RecordReason.GONE_SINCE_SUMS(file=name)
        assert {flaw["file"] for flaw in edited} == {name}
    else:
        (folder / name).write_text("address_bytes,expected,got\n")
        assert read_record(folder).condition.edited == (RecordReason.ADDED_SINCE_SUMS(file=name),)
    assert changed_data(folder) == [name]
