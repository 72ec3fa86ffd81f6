"""How long a load outlives what may happen to its supervisor, its worker or its card.

On real processes and software Vulkan. The bounds stand here as numbers; they are held against the
stamps of the worker's own clock, and, where a moment is the kernel's, against its own report.
"""

from __future__ import annotations

import os
import random
import signal
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from burnin.core.errors import EngineError, WorkerEnded, WorkerSilent
from burnin.core.meaning import Meaning, Reason
from burnin.engine.engine import Engine
from burnin.engine.job import ArithmeticLoad, Failed, MemoryTest, WorkEvent
from burnin.engine.meanings import EngineReason
from burnin.engine.process.meanings import WorkerReason
from burnin.engine.process.slice_log import FILE_NAMED_BY
from burnin.engine.process.worker_engine import WorkerEngine
from burnin.report.languages.catalogue import catalogue
from tests.faults.hanging_engine import HANGS_AT, registered
from tests.faults.unanswered_files import UnansweredFiles
from tests.faults.watched_worker import (
    BUSY_BENCH_S,
    gone_at_s,
    slices,
    supervised,
    until_stopped,
    until_working,
)
from tests.long import few_short

pytestmark = [
    pytest.mark.faults,
    pytest.mark.software_vulkan,
    pytest.mark.usefixtures("software_vulkan"),
]

DEAD_SUPERVISOR_S = 0.1
STOPPED_SUPERVISOR_S = 0.25
SILENT_WORKER_S = 1.0
WHATEVER_HANGS_S = 2.5
LOOKS_A_SECOND = 20
SEEDS = few_short(range(12), (0,))


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The file in which this test's workers log their slices."""
    path = tmp_path / "slices"
    monkeypatch.setenv(FILE_NAMED_BY, str(path))
    return path


@pytest.fixture
def engine(log: Path) -> Iterator[WorkerEngine]:
    with WorkerEngine(["--engine", "vulkan", "--software"]) as opened:
        yield opened


def at_work(engine: Engine, log: Path, many: int = 20) -> None:
    """Beat until the load has begun many slices."""
    for _ in range(60 * LOOKS_A_SECOND):
        engine.beat()
        engine.poll()
        if len(slices(log)) >= many:
            return
        time.sleep(1.0 / LOOKS_A_SECOND)
    raise AssertionError("the load did not begin")


def looked_at(engine: Engine, looks: int) -> list[WorkEvent]:
    """What a supervisor hears that goes on beating, for so many looks."""
    heard: list[WorkEvent] = []
    for _ in range(looks):
        engine.beat()
        heard += engine.poll()
        if any(isinstance(event, Failed) for event in heard):
            break
        time.sleep(1.0 / LOOKS_A_SECOND)
    return heard


def a_moment(seed: int) -> None:
    """Let up to half a second pass."""
    time.sleep(random.Random(seed).uniform(0.0, 0.5))


@pytest.mark.parametrize("seed", SEEDS)
def test_a_dead_supervisor_leaves_no_load(log: Path, seed: int) -> None:
    with supervised(log) as there:
        until_working(log)
        a_moment(seed)
        killed_s = time.monotonic()
        there.process.kill()
        gone_at_s(there.worker_pid)
        assert slices(log)[-1].begun_s < killed_s + DEAD_SUPERVISOR_S + BUSY_BENCH_S


@pytest.mark.parametrize("seed", SEEDS)
def test_a_stopped_supervisor_lets_no_slice_begin_and_the_worker_ends(
    log: Path, seed: int
) -> None:
    with supervised(log) as there:
        until_working(log)
        a_moment(seed)
        there.process.send_signal(signal.SIGSTOP)
        until_stopped(there.process.pid)
        stopped_s = time.monotonic()
        gone_s = gone_at_s(there.worker_pid)
        begun = slices(log)
        assert begun[-1].begun_s < stopped_s + STOPPED_SUPERVISOR_S + BUSY_BENCH_S
        assert begun[-1].beat_s < stopped_s
        late = [s for s in begun if s.begun_s - s.beat_s > STOPPED_SUPERVISOR_S + BUSY_BENCH_S]
        assert not late
        # the worker's own end, or the kernel's: it does not wait for anybody
        assert gone_s < stopped_s + 1.5 * WHATEVER_HANGS_S


@pytest.mark.long
def test_a_supervisor_that_goes_on_in_time_has_its_load_again(log: Path) -> None:
    """A pause is no end: the worker waits for the next beat."""
    with supervised(log) as there:
        until_working(log)
        there.process.send_signal(signal.SIGSTOP)
        until_stopped(there.process.pid)
        time.sleep(0.6)
        there.process.send_signal(signal.SIGCONT)
        until_working(log, begun_after_s=time.monotonic())


@pytest.mark.long
def test_the_kernel_ends_a_stopped_worker_whose_supervisor_is_stopped_too(log: Path) -> None:
    """Nothing of ours runs any more; the bound is a timer of the kernel's."""
    with supervised(log) as there:
        until_working(log)
        os.kill(there.worker_pid, signal.SIGSTOP)
        there.process.send_signal(signal.SIGSTOP)
        until_stopped(there.process.pid)
        stopped_s = time.monotonic()
        assert gone_at_s(there.worker_pid) < stopped_s + 1.5 * WHATEVER_HANGS_S
        assert slices(log)[-1].begun_s < stopped_s


@pytest.mark.parametrize("seed", SEEDS)
def test_a_stopped_worker_is_given_up_within_a_second(
    engine: WorkerEngine, log: Path, seed: int
) -> None:
    engine.begin(ArithmeticLoad())
    at_work(engine, log)
    looked_at(engine, random.Random(seed).randrange(8))
    pid = engine.pid
    assert pid is not None
    os.kill(pid, signal.SIGSTOP)
    with pytest.raises(WorkerSilent) as hung:
        looked_at(engine, round(SILENT_WORKER_S * LOOKS_A_SECOND))
    assert hung.value.reason == WorkerReason.GIVEN_UP(how=WorkerReason.STOPPED(seconds=0.3))
    gone_at_s(pid)
    for language in ("en", "de"):
        assert "0" in catalogue(language).say(hung.value.reason)


@pytest.mark.long
def test_the_next_job_has_a_new_worker(engine: WorkerEngine, log: Path) -> None:
    engine.begin(ArithmeticLoad())
    at_work(engine, log)
    pid = engine.pid
    assert pid is not None
    os.kill(pid, signal.SIGSTOP)
    with pytest.raises(WorkerSilent):
        looked_at(engine, LOOKS_A_SECOND)
    begun = len(slices(log))
    engine.begin(ArithmeticLoad())
    at_work(engine, log, begun + 20)
    assert engine.pid != pid


@pytest.mark.long
def test_a_worker_that_was_continued_at_once_goes_on(engine: WorkerEngine, log: Path) -> None:
    engine.begin(ArithmeticLoad())
    at_work(engine, log)
    assert engine.pid is not None
    os.kill(engine.pid, signal.SIGSTOP)
    looked_at(engine, 2)
    os.kill(engine.pid, signal.SIGCONT)
    begun = len(slices(log))
    at_work(engine, log, begun + 20)


@pytest.mark.parametrize(
    "number",
    few_short([signal.SIGTERM, signal.SIGKILL, signal.SIGHUP, signal.SIGABRT], (signal.SIGTERM,)),
)
def test_a_worker_ended_by_a_signal_is_told_with_it(
    engine: WorkerEngine, log: Path, number: signal.Signals
) -> None:
    engine.begin(ArithmeticLoad())
    at_work(engine, log)
    assert engine.pid is not None
    os.kill(engine.pid, number)
    with pytest.raises(WorkerEnded) as ended:
        looked_at(engine, 60 * LOOKS_A_SECOND)
    assert ended.value.reason["how"] == WorkerReason.BY_SIGNAL(signal=number.name)


@pytest.fixture
def hanging(
    log: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[WorkerEngine]:
    """An engine that hangs in its 40th slice; how: see `HANGS_AT`."""
    monkeypatch.setenv("PYTHONPATH", registered(tmp_path))
    monkeypatch.setenv(HANGS_AT, "dispatch:40")
    with WorkerEngine(["--engine", "hangs", "--software"]) as opened:
        yield opened


def test_a_slice_that_never_ends_is_a_card_that_does_not_answer(
    hanging: WorkerEngine, log: Path
) -> None:
    hanging.begin(ArithmeticLoad())
    pid = hanging.pid
    assert pid is not None
    heard = looked_at(hanging, 60 * LOOKS_A_SECOND)
    (failed,) = [event for event in heard if isinstance(event, Failed)]
    assert failed.device_lost
    stuck = EngineReason.SLICE_DID_NOT_END(seconds=1.5)
    assert failed.reason == EngineReason.CARD_LOST(how=stuck)
    told_s = gone_at_s(pid)
    assert told_s - slices(log)[-1].begun_s > 1.5 - 0.1  # it was waited for


@pytest.mark.long
def test_a_worker_whose_interpreter_hangs_is_given_up(
    tmp_path: Path, log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PYTHONPATH", registered(tmp_path))
    monkeypatch.setenv(HANGS_AT, "library:40")
    with WorkerEngine(["--engine", "hangs", "--software"]) as engine:
        engine.begin(ArithmeticLoad())
        pid = engine.pid
        assert pid is not None
        with pytest.raises(WorkerSilent) as hung:
            looked_at(engine, 60 * LOOKS_A_SECOND)
        assert hung.value.reason == WorkerReason.GIVEN_UP(how=WorkerReason.SILENT(seconds=0.75))
        gone_at_s(pid)
        assert len(slices(log)) <= 41


@pytest.mark.long
def test_the_kernel_ends_a_worker_whose_interpreter_hangs_and_whom_nobody_looks_at(
    tmp_path: Path, log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PYTHONPATH", registered(tmp_path))
    monkeypatch.setenv(HANGS_AT, "library:40")
    with WorkerEngine(["--engine", "hangs", "--software"]) as engine:
        engine.begin(ArithmeticLoad())
        pid = engine.pid
        assert pid is not None
        at_work(engine, log, 30)
        beat_s = time.monotonic()
        engine.beat()
        assert gone_at_s(pid) < beat_s + 1.5 * WHATEVER_HANGS_S
        with pytest.raises(WorkerEnded):
            looked_at(engine, 2)


def in_the_kernel(folder: Path) -> MemoryTest:
    """A job whose worker waits for a file that nobody answers for."""
    return MemoryTest(1.0, ("solid",), max_bytes=2**21, failing_words_path=str(folder / "words"))


@pytest.mark.long
def test_a_worker_that_cannot_be_killed_is_named_and_not_waited_for(tmp_path: Path) -> None:
    folder = tmp_path / "unanswered"
    folder.mkdir()
    files = UnansweredFiles(folder)
    try:
        files.__enter__()
    except OSError as error:
        pytest.skip(f"no file system of user space here: {error}")
    engine = WorkerEngine(["--engine", "vulkan", "--software"])
    pid = engine.pid
    assert pid is not None
    try:
        engine.begin(in_the_kernel(folder))
        assert files.asked.wait(60.0)
        engine.stop()
        (failed,) = [event for event in engine.poll() if isinstance(event, Failed)]
        assert_left_behind(failed.reason, pid)
        assert os.path.exists(f"/proc/{pid}")  # noqa: PTH110 - a folder of the kernel's
        with pytest.raises(WorkerSilent) as again:
            engine.begin(ArithmeticLoad())
        assert_left_behind(again.value.reason, pid)
        with pytest.raises(WorkerSilent) as closing:
            engine.close()
        assert_left_behind(closing.value.reason, pid)
    finally:
        files.__exit__()
    gone_at_s(pid)


def assert_left_behind(reason: Reason, pid: int) -> None:
    assert reason.means(WorkerReason.LEFT_BEHIND)
    assert reason["pid"] == pid
    how = reason["how"]
    assert isinstance(how, Meaning)
    assert how.means(WorkerReason.STOP_UNCONFIRMED)
    for language in ("en", "de"):
        assert str(pid) in catalogue(language).say(reason)


@pytest.mark.long
def test_a_worker_stopped_while_it_starts_is_not_waited_for(
    log: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Stopped before it is ready: by the module that its interpreter imports first."""
    del log
    (tmp_path / "sitecustomize.py").write_text("import os, signal\nos.kill(os.getpid(), 19)\n")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    with pytest.raises(EngineError) as refused:
        WorkerEngine(["--engine", "vulkan", "--software"])
    assert refused.value.reason == WorkerReason.NOT_STARTED(how=WorkerReason.STOPPED(seconds=0.3))
