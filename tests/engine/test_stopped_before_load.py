"""A stop that is asked while memory is taken and kernels are made has nothing to wait for."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import Any

import pytest

from burnin.engine.device.meanings import PreparingReason
from burnin.engine.device.preparing import Preparing, StoppedBeforeLoad
from burnin.engine.job import ArithmeticLoad, Failed, Job, LinkTraffic, MemoryResult, MemoryTest
from burnin.engine.process import wire
from burnin.engine.process.dead_man_switch import DeadManSwitch
from burnin.engine.process.started import started
from burnin.engine.process.where_asked import FILE_NAMED_BY
from burnin.engine.vulkan.adapters import choose, vulkan_adapters
from burnin.engine.vulkan.device import VulkanDevice
from burnin.engine.work import LoadShare
from burnin.report.languages.catalogue import catalogue
from tests.benchmarks import stop_table


def preparing() -> DeadManSwitch:
    switch = DeadManSwitch()
    assert switch.job_taken(switch.job_begins())
    return switch


def test_a_job_that_nobody_has_come_to_is_over_at_once() -> None:
    switch = DeadManSwitch()
    number = switch.job_begins()
    assert switch.stop_before_load()
    assert not switch.running
    assert not switch.job_taken(number)


def test_while_a_kernel_is_made_a_stop_is_confirmed_and_nothing_is_queued_after() -> None:
    switch = preparing()
    assert switch.idles(True)
    assert switch.stop_before_load()
    assert not switch.idles(False)
    assert not switch.may_queue()
    assert not switch.prepared()


def test_while_something_may_be_on_the_card_a_stop_waits_for_it() -> None:
    switch = preparing()
    assert switch.idles(True)
    assert switch.may_queue()
    assert not switch.stop_before_load()
    switch.stop()
    assert not switch.may_queue()
    assert not switch.ends_before_load()
    assert not switch.idles(True)  # what was waited for is done
    assert switch.ends_before_load()
    assert not switch.running
    assert not switch.prepared()


def test_a_stop_that_is_heard_between_two_calls_ends_the_job_before_the_next_is_made() -> None:
    switch = preparing()
    assert switch.idles(True)
    assert switch.idles(False)
    assert not switch.stop_before_load()
    switch.stop()
    assert not switch.idles(True)
    assert switch.ends_before_load()
    assert not switch.ends_before_load()  # told once


def test_what_waits_for_a_beat_before_it_queues_something_has_nothing_on_the_card() -> None:
    now_s = [0.0]
    switch = DeadManSwitch(lambda: now_s[0])
    assert switch.job_taken(switch.job_begins())
    assert switch.idles(True)
    now_s[0] = 1.0
    went_on: list[bool] = []
    waits = threading.Thread(target=lambda: went_on.append(switch.may_queue()))
    waits.start()
    assert switch.stop_before_load()
    waits.join(60.0)
    assert went_on == [False]


def test_a_worker_that_rests_after_such_a_stop_does_not_stand_still() -> None:
    now_s = [0.0]
    switch = DeadManSwitch(lambda: now_s[0])
    assert switch.job_taken(switch.job_begins())
    assert switch.idles(True)
    assert switch.stop_before_load()
    assert not switch.prepared()
    for _ in range(1000):
        now_s[0] += 0.1
        assert switch.stuck() is None


def test_once_a_job_works_what_it_makes_says_nothing_of_the_card() -> None:
    switch = preparing()
    assert switch.idles(True)
    assert switch.prepared()
    assert not switch.stop_before_load()
    assert switch.idles(True)
    assert not switch.stop_before_load()


def test_a_job_that_was_ordered_meanwhile_is_not_over_with_the_one_before() -> None:
    switch = preparing()
    switch.idles(True)
    assert switch.stop_before_load()
    second = switch.job_begins()
    assert not switch.idles(False)
    assert not switch.may_queue()
    assert not switch.ends_before_load()
    assert not switch.prepared()
    assert switch.running
    assert switch.job_taken(second)
    assert switch.may_queue()
    assert switch.prepared()


def test_the_sentence_says_that_the_card_was_not_loaded() -> None:
    assert "had not been loaded" in catalogue("en").say(PreparingReason.STOPPED())
    assert "noch nicht belastet" in catalogue("de").say(PreparingReason.STOPPED())


@pytest.mark.software_vulkan
@pytest.mark.parametrize(
    "job",
    [
        ArithmeticLoad(),
        MemoryTest(1.0, ("solid",), max_bytes=2**21),
        LinkTraffic(1.0, "to_card"),
        LinkTraffic(1.0, "to_host"),
        LinkTraffic(1.0, "both"),
    ],
)
@pytest.mark.parametrize("hook", ["on_idle", "on_queue"])
def test_whatever_is_prepared_can_be_stopped_at_each_step(
    software_vulkan: None, job: Job, hook: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every few steps of a fresh device, until so many are allowed that the work is prepared."""
    device = VulkanDevice(choose(vulkan_adapters(), 0, 0, software=True))
    allowed = 0
    while True:
        left = allowed

        def step(idle: bool = True) -> None:
            nonlocal left
            left -= 1
            if left < 0 and idle:
                raise StoppedBeforeLoad(PreparingReason.STOPPED())

        with monkeypatch.context() as watched:
            watched.setattr(Preparing, hook, staticmethod(step))
            try:
                work = started(device, job, LoadShare(1.0), lambda _: None)
                break
            except StoppedBeforeLoad:
                allowed += 7
    assert allowed
    slices = work.slices()
    for _ in range(2):
        next(slices)
    slices.close()  # type: ignore[attr-defined]
    work.release()
    device.close()


class Pipe:
    """A worker's standard input and output."""

    def __init__(self, worker: subprocess.Popen[bytes]) -> None:
        self._worker = worker

    def send(self, **message: object) -> None:
        assert self._worker.stdin is not None
        self._worker.stdin.write(wire.line(message))
        self._worker.stdin.flush()

    def until(self, kind: str) -> tuple[dict[str, Any], list[Any]]:
        """The first message of a kind, and the events before it."""
        assert self._worker.stdout is not None
        seen: list[Any] = []
        for text in self._worker.stdout:
            message = wire.message(text)
            if message["is"] == kind:
                return message, seen
            if message["is"] == "event":
                seen.append(wire.unpacked(message["event"]))
        raise AssertionError(f"no {kind}; seen: {seen}")


@pytest.mark.software_vulkan
def test_a_worker_confirms_a_stop_while_its_driver_stands_over_a_kernel(
    software_vulkan: None, tmp_path: Path
) -> None:
    command = [sys.executable, "-m", "tests.engine.standing_worker", str(tmp_path)]
    with subprocess.Popen(
        [*command, str(os.getpid())], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL, cwd=Path(__file__).parents[2],
    ) as worker:  # fmt: skip
        pipe, ended = Pipe(worker), threading.Event()
        pipe.until("ready")
        pipe.send(do="begin", job=ArithmeticLoad())

        def beat() -> None:
            while not ended.wait(0.05):
                pipe.send(do="beat", sent_s=time.monotonic())

        beats = threading.Thread(target=beat, daemon=True)
        beats.start()
        while not (tmp_path / "making").exists():
            time.sleep(0.01)
        pipe.send(do="stop", number=1)
        stopped, events = pipe.until("stopped")  # it stands still over the kernel
        assert stopped["number"] == 1
        assert events == [Failed(PreparingReason.STOPPED())]
        pipe.send(do="begin", job=ArithmeticLoad())
        pipe.send(do="stop", number=2)
        stopped, events = pipe.until("stopped")
        assert stopped["number"] == 2
        assert events == [Failed(PreparingReason.STOPPED())]
        pipe.send(do="begin", job=MemoryTest(1.0, ("solid",), max_bytes=2**21))
        (tmp_path / "go_on").touch()
        seen: list[Any] = []
        while not (seen and isinstance(seen[-1], MemoryResult)):
            message, _ = pipe.until("event")
            seen.append(wire.unpacked(message["event"]))
        assert not [event for event in seen if isinstance(event, Failed)]
        assert seen[-1].tested_bytes == 2**21
        ended.set()
        beats.join()
        pipe.send(do="end")
        assert worker.wait(60.0) == 0


@pytest.mark.software_vulkan
def test_a_stop_heard_between_two_calls_is_confirmed_before_memory_is_given_back(
    software_vulkan: None, tmp_path: Path
) -> None:
    command = [sys.executable, "-m", "tests.engine.standing_worker", str(tmp_path)]
    with subprocess.Popen(
        [*command, str(os.getpid()), "between"], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL, cwd=Path(__file__).parents[2],
    ) as worker:  # fmt: skip
        pipe = Pipe(worker)
        pipe.until("ready")
        pipe.send(do="begin", job=ArithmeticLoad())
        while not (tmp_path / "making").exists():
            time.sleep(0.01)
        pipe.send(do="stop", number=1)
        time.sleep(0.2)  # mostly heard by then; where not, it is confirmed all the same
        (tmp_path / "go_on").touch()
        stopped, events = pipe.until("stopped")
        assert not (tmp_path / "given_back").exists()
        assert stopped["number"] == 1
        assert events == [Failed(PreparingReason.STOPPED())]
        pipe.send(do="begin", job=ArithmeticLoad())
        pipe.send(do="stop", number=2)  # while memory is given back
        stopped, events = pipe.until("stopped")
        assert not (tmp_path / "given_back").exists()
        assert stopped["number"] == 2
        (tmp_path / "give_back").touch()
        pipe.send(do="end")
        assert worker.wait(60.0) == 0
        assert (tmp_path / "given_back").exists()


@pytest.mark.software_vulkan
def test_once_all_that_was_queued_is_done_nothing_is_on_the_card(
    software_vulkan: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[str] = []
    device = VulkanDevice(choose(vulkan_adapters(), 0, 0, software=True))
    monkeypatch.setattr(Preparing, "on_idle", staticmethod(lambda idle: told.append(f"{idle}")))
    monkeypatch.setattr(Preparing, "on_queue", staticmethod(lambda: told.append("queue")))
    unit = device.compute_units(1).units[0]
    assert set(told) == {"True"}
    slices = [unit.repeat(1, None), unit.repeat(1, None)]
    assert told[-2:] == ["queue", "queue"]
    for queued in slices:
        queued.finish()
    assert told[-1] == "True"
    unit.release()
    device.close()


@pytest.mark.skipif(not hasattr(signal, "SIGUSR1"), reason="no such signal here")
def test_a_worker_tells_where_its_threads_are(tmp_path: Path) -> None:
    script = (
        "import os, signal\n"
        "from burnin.engine.process.where_asked import tell_where_asked\n"
        "tell_where_asked()\n"
        "def here(): os.kill(os.getpid(), signal.SIGUSR1)\n"
        "here()\n"
    )
    told = tmp_path / "where"
    subprocess.run(
        [sys.executable, "-c", script], check=True, cwd=Path(__file__).parents[2],
        env={**os.environ, FILE_NAMED_BY: str(told)},
    )  # fmt: skip
    assert "in here" in told.read_text()
    assert "main thread: here" in stop_table.where(told.read_text())
