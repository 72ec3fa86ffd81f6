"""A log that somebody holds: who it is is said after a moment, and the wait ends."""

from __future__ import annotations

import fcntl
import multiprocessing
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from burnin.core.errors import BadInput
from burnin.core.meaning import Reason
from burnin.core.waiting import told_by
from burnin.record import log_lock
from burnin.record.event_log import LogEvent, append
from burnin.record.reasons import RecordReason
from burnin.report.languages.catalogue import catalogue
from tests.ticket.tickets import ticket

LINE = LogEvent("2026-03-02T09:15:00.000Z", "noted", "", {"text": "x"})
HOLDS = """
import fcntl, os, sys, time
handle = os.open(sys.argv[1], os.O_RDWR | os.O_CREAT)
fcntl.flock(handle, fcntl.LOCK_EX)
print("held", flush=True)
time.sleep(600)
"""


@pytest.fixture
def holder(tmp_path: Path) -> Iterator[subprocess.Popen[str]]:
    """Another process that holds the log."""
    command = [sys.executable, "-c", HOLDS, str(tmp_path / "log.jsonl")]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as begun:
        assert begun.stdout is not None
        assert begun.stdout.readline() == "held\n"
        yield begun
        begun.send_signal(signal.SIGKILL)


def test_who_holds_the_log_is_said_and_the_wait_ends(
    tmp_path: Path, holder: subprocess.Popen[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    os.kill(holder.pid, signal.SIGSTOP)
    monkeypatch.setattr(log_lock, "TELL_AFTER_S", 0.05)
    said: list[Reason] = []
    began = time.monotonic()
    with told_by(said.append), pytest.raises(BadInput) as caught:
        append(tmp_path / "log.jsonl", lambda _: [LINE], give_up_after_s=0.4)
    assert 0.4 <= time.monotonic() - began < 5.0
    (first,) = said
    last = caught.value.told
    assert isinstance(last, Reason)
    assert first.means(RecordReason.LOG_HELD)
    assert last.means(RecordReason.LOG_HELD_GIVEN_UP)
    for why in (first, last):
        who = why["who"]
        assert isinstance(who, Reason)
        assert who.means(RecordReason.HOLDER_STOPPED)
        assert who["number"] == holder.pid
        for language in ("en", "de"):
            assert str(holder.pid) in catalogue(language).say(why)
    assert (tmp_path / "log.jsonl").read_bytes() == b""


def test_a_writer_that_goes_on_is_not_called_stopped(
    tmp_path: Path, holder: subprocess.Popen[str]
) -> None:
    with pytest.raises(BadInput) as caught:
        append(tmp_path / "log.jsonl", lambda _: [LINE], give_up_after_s=0.1)
    told = caught.value.told
    assert isinstance(told, Reason)
    assert told["who"] == RecordReason.HOLDER(process="python", number=holder.pid) or isinstance(
        told["who"], Reason
    )
    assert isinstance(told["who"], Reason)
    assert not told["who"].means(RecordReason.HOLDER_STOPPED)


def _hold_for(path: Path, seconds: float) -> None:
    handle = os.open(path, os.O_RDWR | os.O_CREAT)
    fcntl.flock(handle, fcntl.LOCK_EX)
    path.with_suffix(".held").touch()
    time.sleep(seconds)


def test_nothing_is_said_where_the_lock_is_free_in_a_moment(tmp_path: Path) -> None:
    path = tmp_path / "log.jsonl"
    other = multiprocessing.get_context("fork").Process(target=_hold_for, args=(path, 0.2))
    other.start()
    while not path.with_suffix(".held").exists():
        time.sleep(0.01)
    said: list[Reason] = []
    with told_by(said.append):
        append(path, lambda _: [LINE])
    other.join()
    assert said == []
    assert path.read_bytes().count(b"\n") == 1


def test_the_bounds_are_as_the_readme_says() -> None:
    assert (log_lock.TELL_AFTER_S, log_lock.GIVE_UP_AFTER_S) == (1.0, 10.0)


@pytest.mark.long
def test_a_note_beside_a_stopped_writer_ends_with_exit_code_2(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("BURNIN_SHOP", str(tmp_path / "shop"))
    there = ticket(tmp_path / "results")
    log = there.folder / "ticket" / "events.jsonl"
    before = log.read_bytes()
    with subprocess.Popen(
        [sys.executable, "-c", HOLDS, str(log)], stdout=subprocess.PIPE, text=True
    ) as begun:
        assert begun.stdout is not None
        begun.stdout.readline()
        os.kill(begun.pid, signal.SIGSTOP)
        began = time.monotonic()
        command = [sys.executable, "-m", "burnin", "ticket", "note", "4711", "x"]
        done = subprocess.run(
            [*command, "--results", str(tmp_path / "results")],
            capture_output=True, text=True, check=False,
        )  # fmt: skip
        waited_s = time.monotonic() - began
        begun.send_signal(signal.SIGKILL)
    assert done.returncode == 2
    assert 10.0 <= waited_s < 30.0
    assert done.stderr.count(str(begun.pid)) >= 2
    assert "Traceback" not in done.stderr
    assert log.read_bytes() == before
