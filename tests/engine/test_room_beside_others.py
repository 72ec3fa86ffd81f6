"""Slices of works that share a card: none waits for its own, each sees what is done."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from burnin.engine.device.slices import UNANSWERED_S, Pipeline


@dataclass
class _Slice:
    """A slice that is done when it is said to be."""

    over: bool | None = False
    waited: int = 0

    def done(self) -> bool | None:
        return self.over

    def finish(self) -> None:
        self.waited += 1


@dataclass
class _Clock:
    now_s: float = 0.0
    settled: list[float] = field(default_factory=list)

    def __call__(self) -> float:
        return self.now_s

    def settle(self, _: None, seconds: float) -> None:
        self.settled.append(seconds)


def test_there_is_room_once_the_oldest_is_done_and_nobody_waits() -> None:
    clock = _Clock()
    pipeline: Pipeline[None] = Pipeline(clock)
    pipeline.waits = False
    first, second = _Slice(), _Slice()
    for queued in (first, second):
        assert pipeline.has_room()
        pipeline.push(queued, clock.settle)
    pipeline.make_room()
    assert not pipeline.has_room()
    assert first.waited == second.waited == 0
    clock.now_s, first.over = 0.006, True
    assert pipeline.has_room()
    assert clock.settled == [0.006]
    assert pipeline.last_slice_s == 0.006
    assert second.waited == 0


def test_what_does_not_answer_is_waited_for_so_that_a_hung_card_is_seen() -> None:
    clock = _Clock()
    pipeline: Pipeline[None] = Pipeline(clock)
    pipeline.waits = False
    stuck = _Slice()
    pipeline.push(stuck, clock.settle)
    clock.now_s = UNANSWERED_S / 2.0
    assert pipeline.has_room()
    assert stuck.waited == 0
    clock.now_s = UNANSWERED_S * 1.1
    pipeline.has_room()
    assert stuck.waited == 1


def test_what_only_waiting_tells_is_waited_for_when_there_is_no_room() -> None:
    clock = _Clock()
    pipeline: Pipeline[None] = Pipeline(clock)
    pipeline.waits = False
    slices = [_Slice(over=None), _Slice(over=None)]
    for queued in slices:
        pipeline.push(queued, clock.settle)
    assert pipeline.has_room()
    assert [queued.waited for queued in slices] == [1, 0]


def test_a_time_that_nobody_watched_is_told_as_none() -> None:
    clock = _Clock()
    pipeline: Pipeline[None] = Pipeline(clock)
    queued = _Slice()
    pipeline.push(queued, clock.settle)
    pipeline.paused()
    clock.now_s, queued.over = 0.1, True
    assert pipeline.has_room()
    assert math.isnan(clock.settled[0])
    assert math.isnan(pipeline.last_slice_s)
