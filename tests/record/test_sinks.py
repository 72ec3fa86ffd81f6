"""Whoever listens to a run cannot harm it: only the record is waited for, and only it may raise."""

from __future__ import annotations

import re
import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from burnin.core.events import Event, SinkDetached
from burnin.record import sinks
from burnin.record.reader import read_record
from burnin.record.reasons import RecordReason
from burnin.record.sinks import Stream
from burnin.record.writer import RecordWriter
from tests.record import streams

COUNT = len(streams.stream())


class Listens:
    """Keeps what it is told; does as it was made to before each event."""

    def __init__(self, name: str = "listens", before: Callable[[int], None] | None = None) -> None:
        self.name, self._before = name, before
        self.told: list[Event] = []
        self.closed = 0

    def __call__(self, event: Event) -> None:
        if self._before is not None:
            self._before(len(self.told))
        self.told.append(event)

    def close(self) -> None:
        self.closed += 1


def raises_at(number: int) -> Callable[[int], None]:
    def before(told: int) -> None:
        if told == number:
            raise ValueError(f"no more after {told}")

    return before


def wait(forever: threading.Event) -> None:
    forever.wait()


def run(folder: Path, *listeners: Listens) -> bytes:
    """Publish the events with the clock as `streams.write` has it; what lies in the folder.

    Without each row's check, which counts the row of a sink that was detached too.
    """
    clock = streams.HandClock()
    stream = Stream(RecordWriter(folder, clock, 0.0))
    for listener in listeners:
        stream.attach(listener)
    for event in streams.stream():
        clock.sleep_s(clock.moves_s)
        stream.publish(event)
    stream.close()
    return b"".join(
        re.sub(rb",[0-9a-f]{16}\n$", b"\n", line)
        for path in sorted(folder.iterdir())
        for line in path.read_bytes().splitlines(keepends=True)
        if b",SinkDetached," not in line
    )


@pytest.fixture(scope="module")
def undisturbed(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    return run(tmp_path_factory.mktemp("run") / "r")


@pytest.mark.parametrize("number", range(COUNT))
def test_a_sink_that_raises_at_any_event_changes_one_row_only_and_is_named(
    tmp_path: Path, undisturbed: bytes, number: int
) -> None:
    bad, good = Listens("bad", raises_at(number)), Listens("good")
    assert run(tmp_path / "r", bad, good) == undisturbed
    record = read_record(tmp_path / "r")
    [row] = record.events("SinkDetached")
    assert row.detail["sink"] == "bad"
    why = RecordReason.SINK_RAISED(error="ValueError", words=f"no more after {number}")
    assert row.reason() == why
    assert len(bad.told) == number
    detached = SinkDetached("bad", why)
    assert [event for event in good.told if event != detached] == streams.stream()
    assert good.told.count(detached) == 1
    assert (bad.closed, good.closed) == (1, 1)
    assert record.run.verdict == "fail"


def test_a_sink_that_raises_when_it_is_closed_is_named(tmp_path: Path) -> None:
    class ClosesBadly(Listens):
        def close(self) -> None:
            raise OSError("the pipe is gone")

    sink = ClosesBadly("closes badly")
    run(tmp_path / "r", sink)
    assert sink.told == streams.stream()
    [row] = read_record(tmp_path / "r").events("SinkDetached")
    assert row.reason() == RecordReason.SINK_RAISED(error="OSError", words="the pipe is gone")


def test_a_sink_that_hangs_holds_nothing_up_and_is_named_at_the_end(tmp_path: Path) -> None:
    forever = threading.Event()
    hangs, good = Listens("hangs", lambda _: wait(forever)), Listens("good")
    clock = streams.HandClock()
    stream = Stream(RecordWriter(tmp_path / "r", clock, 0.0))
    stream.attach(hangs)
    stream.attach(good)
    for event in streams.stream():
        stream.publish(event)
    begin_s = time.monotonic()
    stream.close(0.2)
    assert time.monotonic() - begin_s < 5.0
    forever.set()
    [row] = read_record(tmp_path / "r").events("SinkDetached")
    assert row.reason() == RecordReason.SINK_TOO_SLOW(events_count=COUNT)
    assert good.told[:COUNT] == streams.stream()


def test_a_sink_that_falls_too_far_behind_is_given_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sinks, "MOST_BEHIND", 3)
    forever = threading.Event()
    stream = Stream(RecordWriter(tmp_path / "r", streams.HandClock(), 0.0))
    stream.attach(Listens("slow", lambda _: wait(forever)))
    for event in streams.stream():
        stream.publish(event)
    forever.set()
    stream.close()
    record = read_record(tmp_path / "r")
    [row] = record.events("SinkDetached")
    assert row.reason() == RecordReason.SINK_TOO_SLOW(events_count=4)
    assert record.journal[-1].event == "RunFinished"


def test_what_the_record_raises_comes_through_at_once_and_in_the_callers_thread(
    tmp_path: Path,
) -> None:
    class PowerCut(BaseException):
        pass

    class CutRecord(Listens):
        thread: int = 0

        def __call__(self, event: Event) -> None:
            self.thread = threading.get_ident()
            if len(self.told) == 2:
                raise PowerCut
            super().__call__(event)

    record, good = CutRecord("record"), Listens("good")
    stream = Stream(record)
    stream.attach(good)
    first, second, third, *_ = streams.stream()
    stream.publish(first)
    stream.publish(second)
    with pytest.raises(PowerCut):
        stream.publish(third)
    assert record.thread == threading.get_ident()
    stream.close()
    assert good.told == [first, second]
    assert record.closed == 1


def test_settled_means_that_all_was_seen(tmp_path: Path) -> None:
    slow = Listens("slow", lambda _: time.sleep(0.002))
    stream = Stream(Listens("record"))
    stream.attach(slow)
    for event in streams.stream():
        stream.publish(event)
    assert stream.settle(10.0)
    assert slow.told == streams.stream()
    stream.close()


def test_a_sink_attached_later_has_what_comes_later(tmp_path: Path) -> None:
    record, late = Listens("record"), Listens("late")
    stream = Stream(record)
    first, *rest = streams.stream()
    stream.publish(first)
    stream.attach(late)
    for event in rest:
        stream.publish(event)
    stream.close()
    assert late.told == rest
    assert record.told == [first, *rest]
