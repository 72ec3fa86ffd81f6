"""The file of a batch says which records belong together, and refuses what is none."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from burnin.core.errors import RecordError
from burnin.core.verdict import RunVerdict, VerdictReason
from burnin.record.batches.batch import (
    Batch,
    CardOfBatch,
    batch_file,
    batches_in,
    read_batch,
    write_batch,
)

CARD = CardOfBatch(
    "0000:01:00.0", "Corvane Silt 4", 1, "4711", "short_x8", "", "4711/run-1", "run-1"
)
OTHER = CardOfBatch("0000:02:00.0")
BATCH = Batch("20260302T080000Z-1a2b", "2026-03-02T08:00:00.000Z", (CARD, OTHER), True, 800.0)


def test_what_was_written_is_read_back_and_the_newest_is_first(tmp_path: Path) -> None:
    done = replace(
        CARD, word=RunVerdict.FAIL, why=VerdictReason.NOT_AT_ITS_END(), ended=True
    )
    batch = BATCH.with_card(done)
    older = replace(BATCH, batch_id="20260301T080000Z-1a2b", budget_w=None)
    for each in (batch, older):
        assert read_batch(write_batch(tmp_path, each)) == each
    assert batches_in(tmp_path) == tuple(
        batch_file(tmp_path, each.batch_id) for each in (batch, older)
    )
    assert batches_in(tmp_path / "none") == ()


@pytest.mark.parametrize(
    ("key", "value"),
    [("format", 2), ("cards", "all"), ("cards", [{"address": 1}]), ("started_utc", None)],
)
def test_what_is_no_file_of_a_batch_is_refused_with_its_path(
    tmp_path: Path, key: str, value: object
) -> None:
    path = write_batch(tmp_path, BATCH)
    content = json.loads(path.read_bytes())
    path.write_text(json.dumps(content | {key: value}), "utf-8")
    with pytest.raises(RecordError, match=BATCH.batch_id):
        read_batch(path)


@pytest.mark.parametrize("record", ["/etc", "../elsewhere/run"])
def test_a_record_outside_the_results_is_none_of_the_batch(tmp_path: Path, record: str) -> None:
    path = write_batch(tmp_path, BATCH.with_card(replace(CARD, record=record)))
    with pytest.raises(RecordError, match="inside the results"):
        read_batch(path)


@pytest.mark.parametrize("content", [b"", b"[]", b"{", b"null", b'{"format": 1}'])
def test_torn_and_foreign_files_end_in_a_sentence(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "x.json"
    path.write_bytes(content)
    with pytest.raises(RecordError, match=r"x\.json"):
        read_batch(path)
    with pytest.raises(RecordError, match="cannot be read"):
        read_batch(tmp_path / "missing.json")


def test_a_list_that_was_changed_by_hand_is_refused(tmp_path: Path) -> None:
    """A card that was struck off, a word that was written over, a check that was taken out."""
    path = write_batch(tmp_path, BATCH)
    content = json.loads(path.read_bytes())
    struck = content | {"cards": content["cards"][:1]}
    worded = content | {"cards": [{**content["cards"][0], "word": "pass"}, content["cards"][1]]}
    unchecked = {name: value for name, value in content.items() if name != "check"}
    for changed in (struck, worded, unchecked):
        path.write_text(json.dumps(changed), "utf-8")
        with pytest.raises(RecordError, match="not as it was written"):
            read_batch(path)
    path.write_text(json.dumps(content, indent=4), "utf-8")
    assert read_batch(path) == BATCH
