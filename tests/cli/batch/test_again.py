"""A batch that was cut goes on: every card comes to its word, and none is burnt in twice."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from burnin.cli.batch.again import batch_to_do, borne_out, is_batch
from burnin.core.verdict import RunVerdict
from burnin.record.batches.batch import Batch, CardOfBatch, batches_in, read_batch, write_batch
from burnin.record.reader import read_record
from tests.cli.batch.test_several_cards import burnin
from tests.run.batch.batches import SHORT, profile_in
from tests.run.driving import run_simulated
from tests.run.leave.test_waiting import loaded_profile


def test_what_the_record_says_goes_before_the_file_of_the_batch(tmp_path: Path) -> None:
    """The cut came between a card's word and the file; another had not begun; one was stopped."""
    profile = loaded_profile()
    whole = run_simulated("healthy_x8", profile, tmp_path)
    stopped = run_simulated("healthy_x8", profile, tmp_path, stop_asked=lambda: True)
    done = CardOfBatch(
        "0000:01:00.0", record=str(whole.folder.relative_to(tmp_path)),
        run_id=read_record(whole.folder).run.run_id,
    )  # fmt: skip
    cut = CardOfBatch(
        "0000:01:00.0", record=str(stopped.folder.relative_to(tmp_path)),
        run_id=read_record(stopped.folder).run.run_id, word=stopped.outcome.verdict, ended=True,
    )  # fmt: skip
    assert batch_to_do(write_batch(tmp_path, Batch("a", "2026-03-02T08:00:00.000Z", (cut,))))[1]
    cards = (done, CardOfBatch("0000:03:00.0"), CardOfBatch("0000:04:00.0", record="lost/run"))
    file = write_batch(tmp_path, Batch("b", "2026-03-02T08:00:00.000Z", cards, ended_utc="x"))
    assert is_batch(file)
    assert not is_batch(whole.folder)
    batch, left = batch_to_do(file)
    assert [card.address for card in left] == [card.address for card in cards[1:]]
    assert batch.cards[0].word is whole.outcome.verdict is RunVerdict.PASS
    assert all(card.word is None and not card.ended for card in left)
    assert batch.ended_utc == ""
    write_batch(tmp_path, replace(batch, cards=batch.cards[:1]))
    assert not batch_to_do(file)[1]


def test_a_word_that_is_told_again_is_the_records_and_of_this_card(tmp_path: Path) -> None:
    """Whatever the file of the batch says; an edited record and a neighbour's give none."""
    whole = run_simulated("healthy_x8", loaded_profile(), tmp_path)
    record, run_id = str(whole.folder.relative_to(tmp_path)), whole.outcome.folder.name
    untold = CardOfBatch("0000:01:00.0", record=record, run_id=run_id)
    invented = CardOfBatch("0000:03:00.0", word=RunVerdict.PASS, ended=True)
    borrowed = CardOfBatch(
        "0000:02:00.0", record=record, run_id=run_id, word=RunVerdict.PASS, ended=True
    )
    batch = Batch("b", "2026-03-02T08:00:00.000Z", (untold, borrowed, invented))
    words = [card.word for card in borne_out(batch, tmp_path).cards]
    assert words == [RunVerdict.PASS, None, None]
    rows = whole.folder / "readings.csv"
    rows.write_bytes(rows.read_bytes().replace(b",pass,", b",fail,", 1))
    edited = borne_out(batch, tmp_path).cards[0]
    assert edited.word is None
    assert edited.why is not None


@pytest.mark.long
def test_a_power_cut_in_the_middle_and_every_card_has_its_word_in_the_end(tmp_path: Path) -> None:
    """The supply carries one load at a time: at the cut one card is done, the others are not."""
    shop, results = tmp_path / "shop", tmp_path / "results"
    shop.mkdir()
    (shop / "shop.toml").write_text("[power]\nsupply_w = 350.0\nbench_w = 100.0\n", "utf-8")
    words = ["run", "--simulated", "three_cards", "--every-card", "--json", "--pace", "4",
             "-p", profile_in(tmp_path, SHORT), "--results", str(results)]  # fmt: skip
    keeper = subprocess.Popen(
        [sys.executable, "-m", "burnin", *words],
        stdout=subprocess.PIPE, env=os.environ | {"BURNIN_SHOP": str(shop)},
    )  # fmt: skip
    assert keeper.stdout is not None
    runs: dict[str, int] = {}
    for line in keeper.stdout:
        told = json.loads(line)
        if told["event"] == "CardOfBatch":
            runs[told["card"]["address"]] = told["pid"]
            if told["word"]:  # its sheet, which gives way to others, may still be made
                break
    for pid in (keeper.pid, *(pid for pid in runs.values() if pid)):
        try:
            os.kill(pid, signal.SIGKILL)
        except ProcessLookupError:
            continue
    keeper.communicate()
    (file,) = batches_in(results)
    cut = read_batch(file)
    done = [card for card in cut.cards if card.word is not None]
    assert 1 <= len(done) < 3
    code, output = burnin(shop, "run", "--resume", str(file))
    assert code == 0, output
    batch = read_batch(file)
    assert [card.word for card in batch.cards] == [RunVerdict.PASS] * 3
    assert batch.ended_utc
    assert {card.record for card in done} <= {card.record for card in batch.cards}
    records = [read_record(path.parent) for path in results.glob("*/*/run.json")]
    assert len(records) == 3
    again = {r.folder.name for r in records if r.run.resumed}
    assert not again & {card.run_id for card in done}
    code, output = burnin(shop, "run", "--resume", str(file))
    assert (code, output.count("SIMULATED PASS")) == (0, 3)  # told again, and nothing done again
    assert len(list(results.glob("*/*/run.json"))) == 3
