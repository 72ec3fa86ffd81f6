"""A table's file byte by byte: begun, gone on with, refused; what an error of the disk names."""

from __future__ import annotations

import errno
import os
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest

from burnin.core.errors import RecordError
from burnin.core.reading import NotMeasured
from burnin.record import csv_rows
from burnin.record.chain import chain_of
from burnin.record.durable import DurableTable, cell, write_json
from tests.record.streams import WhyReason
from tests.refusals import refused, words_of

COLUMNS = ("a", "b", "chain")
PLAIN = ("a", "b")


@pytest.fixture(autouse=True)
def _ends() -> Iterator[None]:
    """What never comes to an end is broken off."""
    signal.signal(signal.SIGALRM, lambda *_: pytest.fail("goes round and round"))
    signal.alarm(5)
    yield
    signal.alarm(0)


def written(path: Path, *rows: tuple[object, object], columns: tuple[str, ...] = COLUMNS) -> bytes:
    table = DurableTable(path, columns)
    for a, b in rows:
        table.append({"a": a, "b": b})
    table.close()
    return path.read_bytes()


def test_a_table_begins_with_its_header_and_each_row_ends_its_line(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    assert written(path, (1, "x, y"), (None, 2.5), columns=PLAIN) == b'a,b\n1,"x, y"\n,2.5\n'
    table = DurableTable(path, PLAIN)
    assert table.begun_before
    table.close()
    assert path.read_bytes() == b'a,b\n1,"x, y"\n,2.5\n'  # looking at it changes nothing


def test_the_chain_of_a_table_goes_on_where_it_stopped(tmp_path: Path) -> None:
    once = written(tmp_path / "t.csv", (1, 2), (3, 4), (5, 6))
    path = tmp_path / "again" / "t.csv"
    path.parent.mkdir()
    fresh = DurableTable(path, COLUMNS)
    assert not fresh.begun_before
    assert fresh.head == chain_of("t.csv", path.read_bytes()).head
    fresh.append({"a": 1, "b": 2})
    fresh.close()
    again = DurableTable(path, COLUMNS)
    assert again.begun_before
    assert again.head == chain_of("t.csv", path.read_bytes()).head
    again.close()
    assert written(path, (3, 4), (5, 6)) == once
    assert chain_of("t.csv", once).broken_line is None


def test_a_table_whose_columns_end_otherwise_has_no_checks(tmp_path: Path) -> None:
    raw = written(tmp_path / "t.csv", (1, 2), columns=("chain", "a", "b"))
    assert raw == b"chain,a,b\n,1,2\n"


def test_a_torn_header_is_written_anew(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    path.write_bytes(b"a,b,ch")
    table = DurableTable(path, COLUMNS)
    assert not table.begun_before
    table.close()
    assert path.read_bytes() == b"a,b,chain\n"


@pytest.mark.parametrize("before", [b"1,2\n", b'1,"2, 3"\n', b"1,2\n\n", b""])
@pytest.mark.parametrize(("torn", "ends"), [(b"3,4", b"\0\n"), (b'"3', b'"\0\n'), (b"3", b"\0\n")])
def test_a_torn_line_is_ended_and_marked(
    torn: bytes, ends: bytes, before: bytes, tmp_path: Path
) -> None:
    """By what it lacks itself: quotes of the line before it are that line's."""
    path = tmp_path / "t.csv"
    path.write_bytes(b"a,b\n" + before + torn)
    assert written(path, (5, 6), columns=PLAIN) == b"a,b\n" + before + torn + ends + b"5,6\n"


def test_a_torn_line_is_synced_before_a_row_follows(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "t.csv"
    path.write_bytes(b"a,b\n1,2\n3")
    sizes: list[int] = []
    real = os.fdatasync

    def sync(handle: int) -> None:
        sizes.append(os.fstat(handle).st_size)
        real(handle)

    monkeypatch.setattr(os, "fdatasync", sync)
    DurableTable(path, PLAIN).close()
    assert sizes == [path.stat().st_size]


def test_other_columns_are_refused_with_the_file(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    path.write_bytes(b"a,c\n1,2\n")
    with refused(RecordError, match="has other columns than this burnin writes") as told:
        DurableTable(path, PLAIN)
    assert str(path) in words_of(told.value)
    assert path.read_bytes() == b"a,c\n1,2\n"


def test_surplus_columns_are_all_named_and_nothing_is_written(tmp_path: Path) -> None:
    table = DurableTable(tmp_path / "t.csv", COLUMNS)
    with pytest.raises(KeyError) as told:
        table.append({"a": 1, "z": 2, "y": 3})
    assert told.value.args == ("no such column: y, z",)
    table.close()
    assert (tmp_path / "t.csv").read_bytes() == b"a,b,chain\n"


@pytest.mark.parametrize("call", ["write", "fdatasync"])
@pytest.mark.parametrize("there", [b"", b"a,b,chain\n1,2"])
def test_what_the_disk_refuses_is_told_with_the_file(
    call: str, there: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where a table is begun, where a torn line is ended, and where a row follows."""
    path = tmp_path / "t.csv"
    path.write_bytes(there)

    def refused(*_: object) -> int:
        raise OSError(errno.EIO, "input/output error")

    with monkeypatch.context() as patch:
        patch.setattr(os, call, refused)
        with pytest.raises(OSError, match="input/output") as told:
            DurableTable(path, COLUMNS)
        assert told.value.filename == str(path)
    table = DurableTable(path, COLUMNS)
    before = table.head
    with monkeypatch.context() as patch:
        patch.setattr(os, call, refused)
        with pytest.raises(OSError, match="input/output") as told:
            table.append({"a": 1, "b": 2})
        assert told.value.filename == str(path)
    # what lies in the file is part of the chain, whether or not the disk says that it has it
    assert table.head.rows == before.rows + (call == "fdatasync")
    table.append({"a": 3, "b": 4})
    table.close()
    assert chain_of("t.csv", path.read_bytes()).broken_line is None


def test_a_closed_table_holds_no_file_open(tmp_path: Path) -> None:
    before = len(list(Path("/proc/self/fd").iterdir()))
    table = DurableTable(tmp_path / "t.csv", PLAIN)
    assert len(list(Path("/proc/self/fd").iterdir())) == before + 1
    table.close()
    assert len(list(Path("/proc/self/fd").iterdir())) == before


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (NotMeasured(WhyReason.NO_LAMP()), ""), (-0.0, "-0"), (1e300, "1e+300"), (12.5, "12.5"),
        (True, "yes"), (0, "0"), ((), ""), (("a\nb", "c\rd", "e\0f"), "a b; c d; e f"),
        ((1.0, None), "1.0; None"), ("x.0", "x.0"), (1234567.0, "1234567"),
    ],
)  # fmt: skip
def test_values_as_cells(value: object, text: str) -> None:
    assert cell(value) == text


def test_text_that_is_no_unicode_is_marked_and_not_lost(tmp_path: Path) -> None:
    assert written(tmp_path / "t.csv", ("\ud800x", "ü"), columns=PLAIN) == "a,b\n?x,ü\n".encode()
    write_json(tmp_path / "r.json", {"a": "\ud800x", "b": "ü", "c": (1, NotMeasured)[:1]})
    assert (tmp_path / "r.json").read_bytes() == (
        '{\n "a": "?x",\n "b": "ü",\n "c": [\n  1\n ]\n}\n'.encode()
    )


# ---- lines


@pytest.mark.parametrize(
    ("raw", "whole", "torn"),
    [
        (b"a,b\n\r1,2\n3,4\n", [3], [2]),  # a stray break before the line
        (b"a,b\n1,\r2\n3,4\n", [3], [2]),
        (b"a,b\n\r\n\r\n1,2\n", [4], []),
        (b"a,b\n1,2\n\r", [2], [3]),
        (b"a,b\n1,2\n\n\n", [2], []),
        (b"a,b\n1,2\n\n\r\n3,4", [2], [5]),
        (b"a\n1\n", [2], []),
        (b"a\n1", [], [2]),
        (b"\na\n", [], [2]),
        (b"a,b\n1,2", [], [2]),
    ],
)
def test_which_lines_are_whole(raw: bytes, whole: list[int], torn: list[int]) -> None:
    rows = dict(csv_rows.rows(raw))
    assert [number for number, cells in rows.items() if cells is not None] == whole
    assert [number for number, cells in rows.items() if cells is None] == torn
    lines = raw.split(b"\n")
    assert dict(csv_rows.whole_lines(raw)) == {number: lines[number - 1] for number in whole}


@pytest.mark.parametrize(
    ("raw", "names"),
    [
        (b"a,b\n", ("a", "b")), (b"a,b\r\n1,2\r\n", ("a", "b")), (b"a\nb\n", ("a",)),
        (b"\xef\xbb\xbfa,b\n", ("a", "b")), (b"a,b\xef\xbb\xbf\n", ("a", "b\ufeff")),
        (b"a,b", ()), (b"", ()), (b"\n", ()), (b'"a,b\n', ()), (b"a\0\n", ()), (b"\xff\n", ()),
        (b'"a ""x""",b\n', ('a "x"', "b")),
    ],
)  # fmt: skip
def test_names_of_columns(raw: bytes, names: tuple[str, ...]) -> None:
    assert csv_rows.header(raw) == names
