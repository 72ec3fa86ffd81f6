"""The real command on software Vulkan, asked by a signal to end while it loads the processor.

Load off, record closed with the code of who asked, exit code of a conditional run.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import psutil
import pytest

from burnin.core.meaning import Meaning
from burnin.core.verdict import Ended, RunVerdict, StageVerdict
from burnin.engine.process.slice_log import FILE_NAMED_BY
from burnin.guard.meanings import GuardReason
from burnin.record.reader import read_record
from tests.faults.watched_worker import BUSY_BENCH_S, TREE, gone_at_s, slices, until_working
from tests.long import few_short

pytestmark = [
    pytest.mark.faults,
    pytest.mark.software_vulkan,
    pytest.mark.usefixtures("software_vulkan"),
]

PROFILE = """
format = 1
title = "One long load"

[pace]
sample_interval_s = 0.05

[guards]
gpu_temp_limit_c = 95.0

[[stages]]
stage = "compute"
load_s = 600.0
"""
LOAD_OFF_S, BUSY = 1.0, 2.0


@dataclass(frozen=True)
class Running:
    """A run at work: its process, its worker's, and where its record and its slices lie."""

    process: subprocess.Popen[str]
    worker_pid: int
    results: Path
    log: Path

    def folder(self) -> Path:
        (found,) = self.results.glob("*/*/run.json")
        return found.parent


@contextmanager
def running(tmp_path: Path, *, hang_up_ignored: bool = False) -> Iterator[Running]:
    """The command, once its worker has begun many slices."""
    profile, log = tmp_path / "long.toml", tmp_path / "slices"
    profile.write_text(PROFILE, "utf-8")
    environment = os.environ | {FILE_NAMED_BY: str(log), "HOME": str(tmp_path)}
    with subprocess.Popen(
        [*(["nohup"] if hang_up_ignored else []), sys.executable, "-m", "burnin", "run",
         "--software-vulkan", "--unattended", "--json", "-p", str(profile), "--results",
         str(tmp_path / "results")],
        stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, stdin=subprocess.DEVNULL, cwd=TREE,
        env=environment, text=True,
    ) as process:  # fmt: skip
        try:
            until_working(log)
            (worker,) = psutil.Process(process.pid).children()
            yield Running(process, worker.pid, tmp_path / "results", log)
        finally:
            process.kill()


@pytest.mark.long
@pytest.mark.parametrize(
    ("number", "code"),
    few_short(
        [
            (signal.SIGTERM, GuardReason.STOPPED_BY_SIGNAL(signal="SIGTERM")),
            (signal.SIGHUP, GuardReason.STOPPED_BY_SIGNAL(signal="SIGHUP")),
            (signal.SIGINT, GuardReason.STOPPED_BY_HAND()),
        ],
        (signal.SIGHUP,),
    ),
)
def test_a_run_that_is_asked_to_end_does_so_with_its_load_off(
    tmp_path: Path, number: signal.Signals, code: Meaning
) -> None:
    with running(tmp_path) as run:
        asked_s = time.monotonic()
        run.process.send_signal(number)
        told, _ = run.process.communicate(timeout=60.0)
        gone_at_s(run.worker_pid)
        assert slices(run.log)[-1].begun_s < asked_s + BUSY * LOAD_OFF_S
        assert run.process.returncode == 4
        finished = [json.loads(line) for line in told.splitlines()][-1]
        assert (finished["event"], finished["ended"]) == ("RunFinished", "stopped by hand")
        record = read_record(run.folder())
        assert record.run.verdict is RunVerdict.CONDITIONAL
        assert record.run.reason == code
        (stage,) = [s for s in record.run.stages if s.kind == "compute"]
        assert stage.verdict is StageVerdict.NOT_MEASURED
        assert stage.reasons == (code,)
        assert (run.folder() / "checksums.sha256").exists()


@pytest.mark.long
def test_a_run_whose_terminal_is_gone_closes_its_record_though_nobody_reads(
    tmp_path: Path,
) -> None:
    with running(tmp_path) as run:
        assert run.process.stdout is not None
        run.process.stdout.close()
        run.process.send_signal(signal.SIGHUP)
        assert run.process.wait(60.0) == 4
        record = read_record(run.folder())
        assert record.run.reason == GuardReason.STOPPED_BY_SIGNAL(signal="SIGHUP")


@pytest.mark.long
def test_a_run_that_was_told_to_outlive_its_terminal_does(tmp_path: Path) -> None:
    with running(tmp_path, hang_up_ignored=True) as run:
        run.process.send_signal(signal.SIGHUP)
        until_working(run.log, begun_after_s=time.monotonic())
        run.process.send_signal(signal.SIGTERM)
        run.process.communicate(timeout=60.0)
        record = read_record(run.folder())
        assert record.run.reason == GuardReason.STOPPED_BY_SIGNAL(signal="SIGTERM")


@pytest.mark.long
def test_a_killed_run_leaves_no_load_and_a_record_that_says_so(tmp_path: Path) -> None:
    with running(tmp_path) as run:
        killed_s = time.monotonic()
        run.process.kill()
        gone_at_s(run.worker_pid)
        assert slices(run.log)[-1].begun_s < killed_s + 0.1 + BUSY_BENCH_S
        record = read_record(run.folder())
        assert record.run.verdict is RunVerdict.INCOMPLETE
        assert record.run.ended is Ended.NOT_YET


@pytest.mark.long
def test_a_stopped_worker_ends_the_command_with_its_code(tmp_path: Path) -> None:
    with running(tmp_path) as run:
        os.kill(run.worker_pid, signal.SIGSTOP)
        told, _ = run.process.communicate(timeout=60.0)
        gone_at_s(run.worker_pid)
        assert run.process.returncode == 4
        finished = [json.loads(line) for line in told.splitlines()][-1]
        assert finished["ended"] == "failed"
        (stage,) = [s for s in read_record(run.folder()).run.stages if s.kind == "compute"]
        assert [reason.code for reason in stage.reasons] == ["worker_given_up"]
