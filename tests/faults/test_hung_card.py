"""Runs whose card, driver or worker hangs under load: the load ends, and so does the run.

The stage has its code, the record is closed, the worker is gone or named. Moments are those of the
bench's monotonic clock, which the worker stamps its slices with.
"""

from __future__ import annotations

import os
import signal
import threading
import time
from collections.abc import Callable
from pathlib import Path

import psutil
import pytest

from burnin.card.meanings import CardReason
from burnin.core.events import Event, Noted, SampleTaken
from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured
from burnin.core.verdict import Ended, RunVerdict, StageVerdict
from burnin.engine.meanings import EngineReason
from burnin.engine.process.meanings import WorkerReason
from burnin.engine.process.slice_log import FILE_NAMED_BY
from burnin.engine.process.worker_engine import WorkerEngine
from burnin.guard.meanings import GuardReason
from burnin.record.reader import read_record
from burnin.replay.judging import Stops, judge_samples
from burnin.run.reasons import RunNote, RunReason
from tests.faults.hanging_engine import HANGS_AT, registered
from tests.faults.rig import RigRun, run_on_rig
from tests.faults.unanswered_files import UnansweredFiles
from tests.faults.watched_worker import BUSY_BENCH_S, gone_at_s, slices
from tests.long import few_short

pytestmark = [
    pytest.mark.faults,
    pytest.mark.software_vulkan,
    pytest.mark.usefixtures("software_vulkan"),
]

LOAD_ENDED_S = 1.0
RECORD_CLOSED_S = 3.0
BUSY = 2.0
"""Factor on a bound of the supervisor's, for benches that are busy with other tests."""
LOADED_SLICES = 20


class AtWork:
    """Does something once, at a sample after many slices; `at_s` is when."""

    def __init__(self, log: Path, do: Callable[[WorkerEngine], None]) -> None:
        self._log, self._do = log, do
        self.at_s = 0.0
        self.pid = 0

    def __call__(self, event: Event, engine: WorkerEngine) -> None:
        if self.at_s or not isinstance(event, SampleTaken) or not event.sample.load_share:
            return
        if len(slices(self._log)) >= LOADED_SLICES:
            assert engine.pid is not None
            self.pid = engine.pid
            self.at_s = time.monotonic()
            self._do(engine)


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "slices"
    monkeypatch.setenv(FILE_NAMED_BY, str(path))
    return path


def closed_in_time(ran: RigRun, began_s: float, later_s: float = 0.0) -> bool:
    return ran.closed_s() - began_s < BUSY * RECORD_CLOSED_S + later_s


def signalled(number: signal.Signals) -> Callable[[WorkerEngine], None]:
    def send(engine: WorkerEngine) -> None:
        assert engine.pid is not None
        os.kill(engine.pid, number)

    return send


@pytest.mark.parametrize("hangs_s", few_short([None, 4.0], (None,)))
def test_sensors_that_hang_end_the_load_and_the_run(
    tmp_path: Path, log: Path, hangs_s: float | None
) -> None:
    hang = threading.Event()

    def begin(_: WorkerEngine) -> None:
        hang.set()
        if hangs_s is not None:
            threading.Timer(hangs_s, hang.clear).start()

    fault = AtWork(log, begin)
    ran = run_on_rig(tmp_path, fault, hang=hang)
    hang.clear()
    assert ran.outcome.verdict is RunVerdict.ABORTED
    assert ran.outcome.ended is Ended.TRIPPED
    worked, after = ran.outcome.stages[:2]
    assert worked.verdict is StageVerdict.ABORTED
    silent = CardReason.NO_ANSWER(seconds=0.5)
    assert worked.reasons == (GuardReason.SENSORS_HANG(because=silent),)
    assert after.reasons == (RunReason.NOT_REACHED(reason=worked.reasons[0]),)
    assert slices(log)[-1].begun_s < fault.at_s + LOAD_ENDED_S
    assert closed_in_time(ran, fault.at_s)
    gone_at_s(fault.pid)
    # the row that ended it is on record, with its reason, and ends a replay in the same way
    record = read_record(ran.folder)
    last = [sample for sample in record.samples() if sample.load_share > 0.0][-1]
    assert last.telemetry.gpu_temp_c == NotMeasured(silent)
    stops = [told for told in judge_samples(record) if isinstance(told, Stops)]
    assert [told.trip.reason for told in stops] == list(worked.reasons)


def test_a_stopped_worker_ends_the_run_with_its_code(tmp_path: Path, log: Path) -> None:
    fault = AtWork(log, signalled(signal.SIGSTOP))
    ran = run_on_rig(tmp_path, fault)
    assert ran.outcome.verdict is RunVerdict.CONDITIONAL
    assert ran.outcome.ended is Ended.FAILED
    worked, after = ran.outcome.stages[:2]
    assert worked.verdict is StageVerdict.NOT_MEASURED
    given_up = WorkerReason.GIVEN_UP(how=WorkerReason.STOPPED(seconds=0.3))
    assert worked.reasons == (given_up,)
    assert after.reasons == (RunReason.NOT_REACHED(reason=given_up),)
    assert {owed.reason for owed in ran.outcome.owed} >= {given_up}
    assert slices(log)[-1].begun_s < fault.at_s + BUSY_BENCH_S
    assert closed_in_time(ran, fault.at_s)
    gone_at_s(fault.pid)
    assert read_record(ran.folder).run.verdict is RunVerdict.CONDITIONAL


@pytest.mark.parametrize(
    ("how", "seen_after_s"),
    few_short([("dispatch:60", 1.5), ("library:60", 0.75)], ("library:60",)),
)
def test_a_card_that_hangs_inside_a_kernel_ends_the_run(
    tmp_path: Path, log: Path, monkeypatch: pytest.MonkeyPatch, how: str, seen_after_s: float
) -> None:
    monkeypatch.setenv("PYTHONPATH", registered(tmp_path))
    monkeypatch.setenv(HANGS_AT, how)
    pids: set[int] = set()

    def note_pid(_: Event, engine: WorkerEngine) -> None:
        pids.update(() if engine.pid is None else (engine.pid,))

    ran = run_on_rig(tmp_path, note_pid, arguments=("--engine", "hangs", "--software"))
    hung_s = slices(log)[-1].begun_s
    assert ran.outcome.ended is Ended.FAILED
    worked, after = ran.outcome.stages[:2]
    if how.startswith("dispatch"):
        lost = EngineReason.CARD_LOST(how=EngineReason.SLICE_DID_NOT_END(seconds=seen_after_s))
        assert worked.reasons == (RunReason.CARD_GONE_AT_WORK(reason=lost),)
        assert after.reasons == (RunReason.NOT_REACHED(reason=RunReason.CARD_GONE()),)
    else:
        silent = WorkerReason.GIVEN_UP(how=WorkerReason.SILENT(seconds=seen_after_s))
        assert worked.reasons == (silent,)
        assert ran.outcome.verdict is RunVerdict.CONDITIONAL
    assert len(slices(log)) < 70
    assert closed_in_time(ran, hung_s)
    (pid,) = pids
    gone_at_s(pid)


@pytest.mark.long
def test_a_worker_that_cannot_be_killed_is_named_in_the_record(
    tmp_path: Path, log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It waits in the kernel for the file of failing words."""
    folder = tmp_path / "unanswered"
    folder.mkdir()
    files = UnansweredFiles(folder)
    try:
        files.__enter__()
    except OSError as error:
        pytest.skip(f"no file system of user space here: {error}")
    pids: set[int] = set()
    began: list[float] = []

    def note_pid(_: Event, engine: WorkerEngine) -> None:
        pids.update(() if engine.pid is None else (engine.pid,))

    def stop_asked() -> bool:
        if files.asked.is_set() and not began:
            began.append(time.monotonic())
        return bool(began)

    monkeypatch.setattr("burnin.stages.memory.stage.FAILING_WORDS_FILE", str(folder / "words"))
    try:
        ran = run_on_rig(tmp_path, note_pid, stop_asked=stop_asked)
        left = [
            event.note
            for _, event in ran.events
            if isinstance(event, Noted) and event.note.means(RunNote.CLEAN_UP_LEFT)
        ]
        assert ran.outcome.ended is Ended.STOPPED_BY_HAND
        (note,) = left
        reason = note["reason"]
        assert isinstance(reason, Reason)
        assert reason.means(WorkerReason.LEFT_BEHIND)
        assert pids == {reason["pid"]}
        assert closed_in_time(ran, began[0])
        assert all(psutil.pid_exists(pid) for pid in pids)
    finally:
        files.__exit__()
    for pid in pids:
        gone_at_s(pid)


@pytest.mark.long
@pytest.mark.parametrize(
    "number", few_short([signal.SIGKILL, signal.SIGTERM, signal.SIGHUP], (signal.SIGKILL,))
)
def test_a_worker_that_was_killed_costs_its_stage_alone(
    tmp_path: Path, log: Path, number: signal.Signals
) -> None:
    fault = AtWork(log, signalled(number))
    ran = run_on_rig(tmp_path, fault)
    worked, after = ran.outcome.stages[:2]
    assert worked.verdict is StageVerdict.NOT_MEASURED
    (reason,) = worked.reasons
    assert reason["how"] == WorkerReason.BY_SIGNAL(signal=number.name)
    assert after.verdict is StageVerdict.PASS
    assert ran.outcome.ended is Ended.DONE
    between = [one for one in slices(log) if fault.at_s + BUSY_BENCH_S < one.begun_s]
    assert between  # the next stage's
