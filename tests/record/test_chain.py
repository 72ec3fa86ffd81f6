"""The chain over rows: every edit of a record is seen by the record alone, without checksums."""

from __future__ import annotations

import csv
import io
import json
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from burnin.core.errors import RecordError
from burnin.core.events import RunStarted
from burnin.core.verdict import StageVerdict
from burnin.record.chain import chain_of, record_head
from burnin.record.reader import read_record
from burnin.record.reasons import RecordReason
from burnin.record.writer import RecordWriter
from tests.record import streams

CHAINED = ("readings.csv", "samples.csv", "not_read.csv", "journal.csv")
WORDS = "address_bytes,expected,got\n0x0,0x1,0x2\n0x4,0x5,0x6\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A small record with failing words, without checksums."""
    (tmp_path / "r").mkdir()
    (tmp_path / "r" / "failing_words.csv").write_text(WORDS)
    return streams.write(tmp_path / "r", sums=False)


def seen(folder: Path) -> bool:
    """Whether the reader finds that somebody had a hand in this record."""
    try:
        condition = read_record(folder).condition
    except RecordError:
        return True
    return bool(condition.edited or condition.disagrees)


def rows_of(file: Path) -> list[list[str]]:
    return list(csv.reader(io.StringIO(file.read_text())))


def write_rows(file: Path, rows: list[list[str]]) -> None:
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    file.write_text(out.getvalue())


def test_an_untouched_record_is_whole_by_its_chain_alone(folder: Path) -> None:
    condition = read_record(folder).condition
    assert condition.whole
    assert condition.chained
    assert not condition.vouched


@pytest.mark.parametrize("name", [*CHAINED, "failing_words.csv"])
def test_every_single_cell_edit_of_a_table_is_seen(folder: Path, name: str) -> None:
    rows = rows_of(folder / name)
    cells = [(line, place) for line in range(len(rows)) for place in range(len(rows[0]))]
    assert len(cells) >= 9
    for line, place in cells:
        changed = [list(row) for row in rows]
        changed[line][place] = "1" if changed[line][place] != "1" else "2"
        write_rows(folder / name, changed)
        assert seen(folder), (name, line, rows[0][place])
    write_rows(folder / name, rows)
    assert not seen(folder)


@pytest.mark.parametrize("name", [*CHAINED, "failing_words.csv"])
def test_a_row_taken_out_added_doubled_or_swapped_is_seen(folder: Path, name: str) -> None:
    rows = rows_of(folder / name)
    for line in range(1, len(rows)):
        for changed in (
            [*rows[:line], *rows[line + 1 :]],
            [*rows[: line + 1], rows[line], *rows[line + 1 :]],
            [*rows[: line - 1], rows[line], rows[line - 1], *rows[line + 1 :]],
        ):
            write_rows(folder / name, changed)
            assert seen(folder), (name, line)


def test_the_flaw_names_the_table_and_the_line(folder: Path) -> None:
    rows = rows_of(folder / "samples.csv")
    rows[2][0] = "7.5"
    write_rows(folder / "samples.csv", rows)
    broken = RecordReason.CHAIN_BROKEN(file="samples.csv", line=3)
    assert read_record(folder).condition.edited == (broken,)


def chained_anew(file: Path) -> None:
    """Make every check of a table anew, as the format's description allows anybody to."""
    lines = file.read_bytes().split(b"\n")
    for number in range(1, len(lines) - 1):
        body = lines[number].rpartition(b",")[0]
        lines[number] = body + b",0000000000000000"
        so_far = b"\n".join(lines[: number + 1]) + b"\n"
        # The check of a row hangs on those before; the reader goes on from what is told.
        lines[number] = body + b"," + _right_check(file.name, so_far)
    file.write_bytes(b"\n".join(lines))


def _right_check(name: str, so_far: bytes) -> bytes:
    from burnin.record import chain

    before = so_far[: so_far.rstrip(b"\n").rfind(b"\n") + 1]
    last = so_far[len(before) :].rstrip(b"\n").rpartition(b",")[0]
    return chain.chain_of(name, before).head.after(last).check.encode()


def test_a_table_whose_checks_were_made_anew_is_seen_by_the_journals_heads(folder: Path) -> None:
    rows = rows_of(folder / "readings.csv")
    rows[1][3] = "pass"
    write_rows(folder / "readings.csv", rows)
    chained_anew(folder / "readings.csv")
    assert chain_of("readings.csv", (folder / "readings.csv").read_bytes()).broken_line is None
    [flaw] = read_record(folder).condition.edited
    assert flaw.means(RecordReason.ROWS_CHANGED)
    assert (flaw["file"], flaw["from_row"]) == ("readings.csv", 1)


def test_one_head_stands_for_the_whole_record(folder: Path) -> None:
    head = record_head(folder)
    assert len(head) == 16
    rows = rows_of(folder / "journal.csv")
    rows[-1][1] = "2026-03-02T09:15:10.000Z"
    write_rows(folder / "journal.csv", rows)
    chained_anew(folder / "journal.csv")
    assert record_head(folder) != head
    (folder / "journal.csv").unlink()
    assert record_head(folder) == ""


def leaves(part: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Paths of all values of a JSON object that hold no others."""
    if isinstance(part, dict):
        for key, inner in part.items():
            yield from leaves(inner, (*path, key))
    elif isinstance(part, list) and part:
        for place, inner in enumerate(part):
            yield from leaves(inner, (*path, place))
    else:
        yield path


def test_every_single_edit_of_run_json_is_seen(folder: Path) -> None:
    text = (folder / "run.json").read_text()
    paths = list(leaves(json.loads(text)))
    known = {"verdict", "reason", "ended", "owed", "stages", "profile"}
    assert {path[0] for path in paths} >= known
    for path in paths:
        content = json.loads(text)
        inside = content
        for key in path[:-1]:
            inside = inside[key]
        was = inside[path[-1]]
        words = [verdict.value for verdict in StageVerdict] if path[-1] == "verdict" else ["pass"]
        for word in words:
            fresh: object = word
            if isinstance(was, bool):
                fresh = not was
            elif isinstance(was, int | float):
                fresh = was + 1
            if fresh == was:
                continue
            inside[path[-1]] = fresh
            (folder / "run.json").write_text(json.dumps(content))
            assert seen(folder), (path, was, fresh)
    (folder / "run.json").write_text(text)
    assert not seen(folder)


def test_a_run_killed_at_any_event_shows_no_edit_and_goes_on(tmp_path: Path) -> None:
    events = streams.stream()
    for count in range(1, len(events) + 1):
        part = streams.write(tmp_path / str(count), events[:count], sums=False)
        assert not seen(part), count
        # The power went between the journal's line and run.json.
        before = tmp_path / f"{count}-before"
        streams.write(before, events[: count - 1], sums=False) if count > 1 else None
        if count > 1:
            shutil.copy(before / "run.json", part / "run.json")
            assert not seen(part), count
        start = events[0]
        assert isinstance(start, RunStarted)
        writer = RecordWriter(part, streams.HandClock(9.0), 0.0)
        writer(RunStarted(start.run_id, start.time_utc, streams.opening(resumed=1), start.stages))
        writer.close()
        assert not seen(part), count


def test_a_record_of_yesterday_has_no_chain_and_reads_as_before(data: Path) -> None:
    record = read_record(data / "records" / "compute_card_cuda")
    assert not record.condition.chained
    assert record.condition.whole
    assert record_head(record.folder) == ""
