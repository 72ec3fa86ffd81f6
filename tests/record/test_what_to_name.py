"""A folder that is no record's, named for one: what to name instead is told."""

from __future__ import annotations

from pathlib import Path

import pytest

from burnin.core.errors import RecordError
from burnin.record.reader import read_record
from tests.refusals import words_of
from tests.report import records


@pytest.mark.parametrize("named", [".", "2026-03-01"])
def test_the_newest_record_below_is_named(tmp_path: Path, named: str) -> None:
    record = records.passed().write(tmp_path / "2026-03-01" / "20260301T233000Z-0a1b")
    with pytest.raises(RecordError) as raised:
        read_record(tmp_path / named)
    assert f"newest record below it is {record}" in words_of(raised.value)


@pytest.mark.parametrize(
    ("named", "words"), [("nowhere", "there is no such folder"), ("empty", "nor does any folder")]
)
def test_where_there_is_none_it_is_told_where_records_lie(
    tmp_path: Path, named: str, words: str
) -> None:
    (tmp_path / "empty").mkdir()
    with pytest.raises(RecordError) as raised:
        read_record(tmp_path / named)
    assert words in words_of(raised.value)
    assert "results/DATE/RUN" in words_of(raised.value)
