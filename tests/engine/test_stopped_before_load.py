"""A stop that is asked while memory is taken and kernels are made has nothing to wait for."""

from __future__ import annotations

import os
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
from burnin.engine.vulkan.adapters import choose, vulkan_adapters
from burnin.engine.vulkan.device import VulkanDevice
from burnin.engine.work import LoadShare
from burnin.report.languages.catalogue import catalogue


def preparing() -> tuple[DeadManSwitch, int]:
    switch = DeadManSwitch()
    number = switch.job_begins()
    assert switch.job_taken(number)
    return switch, number


def test_a_job_that_nobody_has_come_to_is_over_at_once() -> None:
    switch = DeadManSwitch()
    number = switch.job_begins()
    assert switch.stop_before_load()
    assert switch.is_over(number)
    assert not switch.running
    assert not switch.job_taken(number)


def test_while_a_kernel_is_made_a_stop_is_confirmed_and_nothing_is_queued_after() -> None:
    switch, number = preparing()
    assert switch.idles(True)
    assert switch.stop_before_load()
    assert switch.is_over(number)
    assert not switch.idles(False)
    assert not switch.may_queue()


def test_while_something_may_be_on_the_card_a_stop_waits_for_it() -> None:
    switch, number = preparing()
    assert switch.idles(True)
    assert switch.idles(False)
    assert switch.may_queue()
    assert not switch.stop_before_load()
    switch.stop()
    assert not switch.is_over(number)
    assert not switch.may_queue()


def test_once_a_job_works_what_it_makes_says_nothing_of_the_card() -> None:
    switch, _ = preparing()
    switch.prepared()
    assert switch.idles(True)
    assert not switch.stop_before_load()


def test_a_job_that_was_ordered_meanwhile_is_not_over_with_the_one_before() -> None:
    switch, first = preparing()
    switch.idles(True)
    assert switch.stop_before_load()
    second = switch.job_begins()
    assert not switch.idles(False)
    assert not switch.may_queue()
    switch.prepared()
    assert switch.job_taken(second)
    assert switch.is_over(first)
    assert not switch.is_over(second)
    assert switch.may_queue()


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
