"""Whatever becomes of the keeper, no load is left behind, and every record comes to its end."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from burnin.core.meaning import Reason
from burnin.core.verdict import Ended
from burnin.guard.meanings import GuardReason
from burnin.record.reader import read_record
from burnin.run.batch.process_seen import seen
from burnin.run.leave.meanings import LeaveReason
from tests.run.batch.batches import LONGER, Setting, batch_of, bench_in, profile_in
from tests.run.batch.test_batch import SOUND

_MOST_S = 60.0


@contextmanager
def kept(setting: Setting) -> Iterator[subprocess.Popen[bytes]]:
    keeper = subprocess.Popen(
        [sys.executable, "-m", "tests.run.batch.keeper_process", str(setting.results),
         setting.bench, setting.profile],
        stdout=subprocess.PIPE,
    )  # fmt: skip
    try:
        yield keeper
    finally:
        keeper.kill()
        keeper.wait()
        assert keeper.stdout is not None
        keeper.stdout.close()


def until_they_work(keeper: subprocess.Popen[bytes], cards: int) -> set[int]:
    """The processes of all cards, once each is in a stage that works it."""
    assert keeper.stdout is not None
    at_work: set[int] = set()
    for line in keeper.stdout:
        told = json.loads(line)
        if told["stage"] == "compute":
            at_work.add(told["pid"])
        if len(at_work) == cards:
            return at_work
    raise AssertionError("the batch ended before its cards worked")


def until_gone(pids: set[int]) -> None:
    end_s = time.monotonic() + _MOST_S
    while any(seen(pid) is not None for pid in pids):
        assert time.monotonic() < end_s, "a run outlived its keeper"
        time.sleep(0.1)


def ends(setting: Setting) -> list[tuple[Ended, Reason | None]]:
    """How the record of each card ended, and why."""
    records = [read_record(path.parent) for path in setting.results.glob("*/*/run.json")]
    return [(record.run.ended, record.run.reason) for record in records]


@pytest.fixture
def setting(tmp_path: Path) -> Setting:
    bench = bench_in(tmp_path, f"{SOUND}\ncount = 2")
    profile = LONGER.replace("load_s = 2.0", "load_s = 30.0", 1)
    return Setting(tmp_path / "results", bench, profile_in(tmp_path, profile))


@pytest.mark.long
def test_runs_whose_keeper_is_killed_end_with_their_load_off_and_a_whole_record(
    setting: Setting,
) -> None:
    with kept(setting) as keeper:
        pids = until_they_work(keeper, 2)
        keeper.kill()
        until_gone(pids)
    found = ends(setting)
    assert [ended for ended, _ in found] == [Ended.STOPPED_BY_HAND] * 2
    for _, reason in found:
        assert reason is not None
        assert any(part.means(LeaveReason.KEEPER_GONE) for part in reason.parts())
    assert batch_of(setting).ended_utc == ""


@pytest.mark.long
def test_ctrl_c_and_sigterm_end_every_run_in_order(setting: Setting) -> None:
    with kept(setting) as keeper:
        until_they_work(keeper, 2)
        os.kill(keeper.pid, signal.SIGINT)
        keeper.communicate(timeout=_MOST_S)
    assert keeper.returncode == 0
    batch = batch_of(setting)
    assert batch.ended_utc
    assert all(card.ended and card.word is not None for card in batch.cards)
    for ended, reason in ends(setting):
        assert ended is Ended.STOPPED_BY_HAND
        assert reason is not None
        assert any(part.means(GuardReason.STOPPED_BY_HAND) for part in reason.parts())
