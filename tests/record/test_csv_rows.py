"""Lines of a table are read as far as they are whole, and never further."""

from __future__ import annotations

import csv
import io

from hypothesis import given
from hypothesis import strategies as st

from burnin.core.meaning import Reason
from burnin.record import csv_rows
from burnin.record.reasons import RecordReason
from burnin.record.table_file import TableFile

CELL = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\r\n\0"), max_size=8)
ROWS = st.lists(st.tuples(CELL, CELL, CELL).map(list), max_size=6)
NAMES = ("a", "b", "c")


def as_csv(rows: list[list[str]]) -> bytes:
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows([list(NAMES), *rows])
    return out.getvalue().encode()


def table(raw: bytes | None) -> TableFile[dict[str, str]]:
    return TableFile("t.csv", raw, NAMES, lambda _, cells: cells)


def read(raw: bytes) -> list[list[str]]:
    return [[row.get(name, "") for name in NAMES] for row in table(raw).whole()]


@given(ROWS, st.data())
def test_a_cut_anywhere_costs_at_most_the_line_it_hits(
    rows: list[list[str]], draw: st.DataObject
) -> None:
    whole = as_csv(rows)
    cut = draw.draw(st.integers(0, len(whole)))
    complete = whole[:cut].count(b"\n") - 1
    assert read(whole[:cut]) == rows[: max(0, complete)]


@given(ROWS, st.data())
def test_a_cut_is_told_as_torn_or_as_missing_its_last_line_only(
    rows: list[list[str]], draw: st.DataObject
) -> None:
    whole = as_csv(rows)
    cut = draw.draw(st.integers(0, len(whole)))
    flaws = table(whole[:cut]).flaws(resumed=0)
    assert not flaws.damaged
    assert not flaws.foreign
    assert flaws.cut_short == (not whole[:cut].endswith(b"\n"))
    assert bool(flaws.torn) == flaws.cut_short


@given(ROWS, ROWS)
def test_lines_after_a_broken_one_are_read_and_its_number_is_told(
    before: list[list[str]], after: list[list[str]]
) -> None:
    raw = as_csv(before) + b'"x,y\n' + as_csv(after).partition(b"\n")[2] + b"1,2,3\n"
    assert read(raw) == [*before, *after, ["1", "2", "3"]]
    [damage] = table(raw).flaws(resumed=0).damaged
    assert damage.means(RecordReason.LINES_DAMAGED)
    assert damage["lines"] == (len(before) + 2,)


@given(st.binary(max_size=300))
def test_any_bytes_are_read_without_an_error(raw: bytes) -> None:
    for number, row in csv_rows.rows(raw):
        assert number > 1
        assert row is None or all(row.values())
    table(raw).flaws(resumed=0)


def flaws_of(raw: bytes | None, resumed: int = 0) -> dict[str, tuple[Reason, ...]]:
    flaws = table(raw).flaws(resumed)
    told = {"missing": flaws.missing, "torn": flaws.torn}
    told |= {"damaged": flaws.damaged, "foreign": flaws.foreign}
    return {name: found for name, found in told.items() if found}


def test_zero_bytes_at_the_end_are_a_torn_line_and_no_row() -> None:
    raw = b"a,b,c\n1,2,3\n\0\0\0,\0,\0\n"
    assert read(raw) == [["1", "2", "3"]]
    assert flaws_of(raw) == {"torn": (RecordReason.END_TORN(file="t.csv", lines=(3,)),)}


def test_a_hole_in_the_middle_is_damage_with_its_line() -> None:
    raw = b"a,b,c\n1,2,3\n4,\0\0\0\0\0\0,9\n7,8,9\n"
    assert read(raw) == [["1", "2", "3"], ["7", "8", "9"]]
    damage = RecordReason.LINES_DAMAGED(file="t.csv", lines_count=1, lines=(3,))
    assert flaws_of(raw) == {"damaged": (damage,)}


def test_as_many_torn_lines_as_the_run_was_resumed_are_no_damage() -> None:
    raw = b"a,b,c\n1,2\n1,2,3\n4,5\n4,5,6\n"
    torn = RecordReason.TORN_BEFORE_RESUME(file="t.csv", lines_count=1, lines=(2,))
    damage = RecordReason.LINES_DAMAGED(file="t.csv", lines_count=1, lines=(4,))
    assert flaws_of(raw, resumed=1) == {"torn": (torn,), "damaged": (damage,)}
    assert "damaged" not in flaws_of(raw, resumed=2)


def test_a_missing_file_an_empty_one_and_another_table_are_told_apart() -> None:
    assert flaws_of(None) == {"missing": (RecordReason.FILE_MISSING(file="t.csv"),)}
    assert flaws_of(b"") == {"torn": (RecordReason.NO_WHOLE_LINE(file="t.csv"),)}
    assert flaws_of(b"a,b,c") == {"torn": (RecordReason.NO_WHOLE_LINE(file="t.csv"),)}
    other = RecordReason.OTHER_COLUMNS(file="t.csv", columns=("b", "c", "a"))
    assert flaws_of(b"a,a,x\n1,2,3\n") == {"foreign": (other,)}
    assert read(b"a,a,x\n1,2,3\n") == []


def test_columns_that_nobody_knows_are_passed_over() -> None:
    assert flaws_of(b"z,c,b,a\n9,3,2,1\n") == {}
    assert read(b"z,c,b,a\n9,3,2,1\n") == [["1", "2", "3"]]
