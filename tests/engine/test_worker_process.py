"""Law 3, on real processes: the load dies with its supervisor."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import psutil
import pytest

from burnin.core.errors import EngineError, EngineUnavailable, WorkerEnded
from burnin.core.meaning import Meaning
from burnin.engine.device.meanings import PatternReason
from burnin.engine.engine import Engine, HearsPower
from burnin.engine.job import (
    ArithmeticLoad,
    Failed,
    LoadResult,
    MemoryResult,
    MemoryTest,
    Progress,
    Started,
    WorkEvent,
)
from burnin.engine.meanings import EngineNote, EngineReason
from burnin.engine.process.dead_man_switch import END_AFTER_S
from burnin.engine.process.meanings import WorkerReason
from burnin.engine.process.worker_engine import STOP_WITHIN_S, WorkerEngine
from burnin.engine.vulkan.vulkan_errors import VulkanNote, VulkanReason
from burnin.report.languages.catalogue import catalogue

pytestmark = pytest.mark.software_vulkan

PATIENCE_S = 60.0


@pytest.fixture
def engine(software_vulkan: None) -> Iterator[WorkerEngine]:
    """An engine that may take its time to stop: these tests do not judge how fast the bench is."""
    with WorkerEngine(["--engine", "vulkan", "--software"], stop_within_s=PATIENCE_S) as opened:
        yield opened


def until(engine: Engine, done: Callable[[WorkEvent], bool], *, beat: bool = True) -> WorkEvent:
    """Beat and poll until an event comes for which `done` holds."""
    end_s = time.monotonic() + PATIENCE_S
    while time.monotonic() < end_s:
        if beat:
            engine.beat()
        for event in engine.poll():
            if done(event):
                return event
        time.sleep(0.01)
    raise AssertionError("the event did not come")


def gone(pid: int) -> bool:
    """Whether the process has ended, waiting for it with patience."""
    try:
        psutil.Process(pid).wait(PATIENCE_S)
    except psutil.NoSuchProcess:
        return True
    return not psutil.pid_exists(pid)


def is_a(kind: type[object]) -> Callable[[WorkEvent], bool]:
    return lambda event: isinstance(event, kind)


def test_the_worker_says_what_works_and_that_it_is_no_card(engine: WorkerEngine) -> None:
    described = engine.description()
    assert described.name == "vulkan"
    assert not described.works_card
    assert described.why == VulkanNote.SOFTWARE_ASKED_FOR()


def test_a_job_runs_to_its_result(engine: WorkerEngine) -> None:
    engine.begin(MemoryTest(1.0, ("solid",), max_bytes=2**21))
    result = until(engine, is_a(MemoryResult))
    assert isinstance(result, MemoryResult)
    assert result.tested_bytes == 2**21
    engine.begin(MemoryTest(1.0, ("checkerboard",), max_bytes=2**21))
    assert until(engine, is_a(MemoryResult))


def test_a_stop_is_confirmed_with_the_result_so_far(engine: WorkerEngine) -> None:
    engine.begin(ArithmeticLoad(0.5))
    until(engine, is_a(Progress))
    seconds = engine.stop()
    assert 0.0 < seconds < PATIENCE_S
    (result,) = [event for event in engine.poll() if isinstance(event, LoadResult)]
    assert result.operations > 0
    assert engine.stop() == 0.0


def test_a_memory_test_that_was_stopped_says_that_it_is_not_complete(engine: WorkerEngine) -> None:
    engine.begin(MemoryTest(1.0, ("solid",), passes=1_000_000, max_bytes=2**21))
    until(engine, is_a(Progress))
    engine.stop()
    (result,) = [event for event in engine.poll() if isinstance(event, MemoryResult)]
    assert not result.complete


@pytest.mark.long
def test_the_share_changes_what_is_worked(engine: WorkerEngine) -> None:
    engine.begin(ArithmeticLoad(0.0))
    event = until(engine, is_a(Started))
    assert event
    engine.set_share(1.0)
    until(engine, lambda e: isinstance(e, Progress) and e.done > 0)
    engine.set_share(0.25)
    until(engine, lambda e: isinstance(e, Progress) and e.note == EngineNote.SHARE(share=0.25))


def test_a_load_that_is_told_the_power_goes_on(engine: WorkerEngine) -> None:
    assert isinstance(engine, HearsPower)
    engine.begin(ArithmeticLoad())
    until(engine, is_a(Started))
    engine.hear_power(250.0)
    until(engine, lambda e: isinstance(e, Progress) and e.done > 0)
    engine.stop()
    (result,) = [event for event in engine.poll() if isinstance(event, LoadResult)]
    assert result.operations > 0


def test_two_jobs_at_once_are_refused(engine: WorkerEngine) -> None:
    engine.begin(ArithmeticLoad())
    with pytest.raises(EngineError) as refused:
        engine.begin(ArithmeticLoad())
    assert refused.value.reason == EngineReason.JOB_RUNS()


def test_a_job_that_cannot_be_done_fails_with_its_reason(engine: WorkerEngine) -> None:
    engine.begin(MemoryTest(1.0, ("tweed",), max_bytes=2**21))
    failed = until(engine, is_a(Failed))
    assert isinstance(failed, Failed)
    assert failed.reason.means(PatternReason.UNKNOWN)
    assert failed.reason["pattern"] == "tweed"
    assert not failed.device_lost


def test_missed_beats_pause_and_then_end_the_worker(engine: WorkerEngine) -> None:
    engine.begin(ArithmeticLoad())
    until(engine, is_a(Progress))
    pid = engine.pid
    assert pid is not None
    with pytest.raises(WorkerEnded) as ended:
        until(engine, is_a(LoadResult), beat=False)
    assert ended.value.reason["how"] == EngineReason.NO_HEARTBEAT(seconds=END_AFTER_S)
    assert "no heartbeat for 2 s" in catalogue("en").say(ended.value.reason)
    assert gone(pid)


def test_a_worker_that_was_killed_is_told_and_replaced(engine: WorkerEngine) -> None:
    engine.begin(ArithmeticLoad())
    until(engine, is_a(Started))
    assert engine.pid is not None
    os.kill(engine.pid, signal.SIGKILL)
    with pytest.raises(WorkerEnded) as ended:
        until(engine, is_a(LoadResult))
    assert ended.value.reason["how"] == WorkerReason.BY_SIGNAL(signal="SIGKILL")
    engine.begin(MemoryTest(1.0, ("solid",), max_bytes=2**21))
    assert until(engine, is_a(MemoryResult))


def test_a_worker_that_aborts_over_a_lost_device_tells_that_the_card_is_lost(
    engine: WorkerEngine,
) -> None:
    """Drivers abort the process when the card is gone; their last words are all there is."""
    engine.begin(ArithmeticLoad())
    until(engine, is_a(Started))
    with Path(f"/proc/{engine.pid}/fd/2").open("a") as complaints:
        complaints.write("thread panicked: Parent device is lost\n")
    assert engine.pid is not None
    os.kill(engine.pid, signal.SIGABRT)
    failed = until(engine, is_a(Failed))
    assert isinstance(failed, Failed)
    assert failed.device_lost
    words = "thread panicked: Parent device is lost"
    assert failed.reason == EngineReason.CARD_LOST(how=EngineReason.DRIVER_SAYS(words=words))


@pytest.mark.long
def test_a_worker_that_does_not_confirm_a_stop_is_killed(software_vulkan: None) -> None:
    with WorkerEngine(["--engine", "vulkan", "--software"]) as engine:
        engine.begin(ArithmeticLoad())
        until(engine, is_a(Started))
        pid = engine.pid
        assert pid is not None
        os.kill(pid, signal.SIGSTOP)
        engine.stop()
        assert gone(pid)
        (failed,) = [event for event in engine.poll() if isinstance(event, Failed)]
        assert failed.reason == WorkerReason.STOP_UNCONFIRMED(seconds=STOP_WITHIN_S)


def test_the_worker_does_not_hear_the_terminals_interrupt(engine: WorkerEngine) -> None:
    assert engine.pid is not None
    assert os.getsid(engine.pid) != os.getsid(0)


def test_closing_ends_the_worker(software_vulkan: None) -> None:
    engine = WorkerEngine(["--engine", "vulkan", "--software"])
    pid = engine.pid
    assert pid is not None
    engine.close()
    assert gone(pid)
    assert engine.pid is None


def test_the_worker_dies_with_a_supervisor_that_was_killed(software_vulkan: None) -> None:
    with subprocess.Popen(
        [sys.executable, "-m", "tests.engine.supervisor"],
        stdout=subprocess.PIPE, cwd=Path(__file__).parents[2], text=True,
    ) as supervisor:
        assert supervisor.stdout is not None
        worker_pid = int(supervisor.stdout.readline())
        assert psutil.pid_exists(worker_pid)
        supervisor.kill()
        assert gone(worker_pid)


def test_the_worker_ends_when_its_pipe_closes(software_vulkan: None) -> None:
    """Without the kernel's help: the pipe alone tells that the supervisor is gone."""
    command = [
        sys.executable, "-m", "burnin.engine.process.worker", "--engine", "vulkan", "--software",
        "--parent", str(os.getpid()),
    ]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
    ) as worker:
        assert worker.stdout is not None
        assert worker.stdin is not None
        assert b"ready" in worker.stdout.readline()
        worker.stdin.close()
        assert worker.wait(PATIENCE_S) == 0


def test_a_card_that_no_adapter_answers_for_is_a_clear_sentence(software_vulkan: None) -> None:
    with pytest.raises(EngineUnavailable) as refused:
        WorkerEngine(["--engine", "vulkan", "--vendor", "f5a7", "--device", "1"])
    assert refused.value.reason.means(VulkanReason.NO_ADAPTER)
    told = catalogue("en").say(refused.value.reason)
    assert "f5a7:0001" in told
    assert "Install the card's Vulkan driver" in told


def test_an_engine_that_is_not_registered_is_refused_by_the_worker() -> None:
    with pytest.raises(EngineUnavailable) as refused:
        WorkerEngine(["--engine", "steam"])
    assert refused.value.reason.means(EngineReason.NOT_LOADED)
    assert "steam" in str(refused.value.reason["words"])


def test_a_worker_that_cannot_start_tells_its_last_words() -> None:
    with pytest.raises(EngineUnavailable) as refused:
        WorkerEngine(["--no-such-option"])
    assert refused.value.reason.means(WorkerReason.NOT_STARTED)
    how = refused.value.reason["how"]
    assert isinstance(how, Meaning)
    assert how.means(WorkerReason.SAID)
    assert "--no-such-option" in str(how["words"]) or "--engine" in str(how["words"])
