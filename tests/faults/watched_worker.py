"""Helpers to see how long a load lives: the worker's own log of slices, and its process."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import psutil

from burnin.engine.process.ready import ready_to_read
from burnin.engine.process.slice_log import FILE_NAMED_BY

PATIENCE_S = 120.0
BUSY_BENCH_S = 0.15
"""What a bench with every core busy may take between a decision and the line that logs it."""
TREE = Path(__file__).parents[2]


@dataclass(frozen=True)
class Slice:
    """When a slice was begun, and the newest beat then: monotonic seconds."""

    begun_s: float
    beat_s: float


def slices(log: Path) -> tuple[Slice, ...]:
    """The whole lines of a worker's log."""
    text = log.read_text() if log.exists() else ""
    lines = text[: text.rfind("\n") + 1].splitlines()
    return tuple(Slice(*map(float, line.split())) for line in lines)


def until_working(log: Path, begun_after_s: float = 0.0, many: int = 20) -> None:
    """Wait until many slices were begun after a moment."""
    end_s = time.monotonic() + PATIENCE_S
    while sum(one.begun_s > begun_after_s for one in slices(log)) < many:
        assert time.monotonic() < end_s, "the load did not begin"
        time.sleep(0.02)


@dataclass(frozen=True)
class Supervised:
    """A supervisor in a process of its own, and its worker's process id."""

    process: subprocess.Popen[str]
    worker_pid: int


@contextmanager
def supervised(log: Path) -> Iterator[Supervised]:
    """A supervisor whose worker is at work; both are gone afterwards."""
    environment = os.environ | {FILE_NAMED_BY: str(log)}
    with subprocess.Popen(
        [sys.executable, "-m", "tests.engine.supervisor"],
        stdout=subprocess.PIPE, cwd=TREE, env=environment, text=True,
    ) as process:  # fmt: skip
        try:
            assert process.stdout is not None
            told = process.stdout.readline()
            assert told, "the supervisor ended before its worker worked"
            yield Supervised(process, int(told))
        finally:
            process.kill()


def gone_at_s(pid: int) -> float:
    """The moment at which a process of ours or another's ended; fails where it does not."""
    try:
        handle = os.pidfd_open(pid)
    except ProcessLookupError:
        return time.monotonic()
    try:
        assert ready_to_read(handle, PATIENCE_S), f"process {pid} is still there"
        return time.monotonic()
    finally:
        os.close(handle)


def until_stopped(pid: int) -> None:
    """Wait until the kernel has stopped all of a process."""
    end_s = time.monotonic() + PATIENCE_S
    while psutil.Process(pid).status() != psutil.STATUS_STOPPED:
        assert time.monotonic() < end_s
        time.sleep(0.002)
