"""All parts at once on a software adapter: each works, each fault is laid to its part."""

from __future__ import annotations

import struct
import time
from collections.abc import Callable
from typing import Any

import pytest

from burnin.engine.device.device import Device, WorksBeside
from burnin.engine.job import (
    AllAtOnce,
    FailingWord,
    MemoryTest,
    PartFault,
    PhaseBegan,
    Plant,
    Progress,
    TogetherResult,
    WorkEvent,
)
from burnin.engine.process import wire
from burnin.engine.together.together_work import TogetherWork
from burnin.engine.work import LoadShare

PATTERNS = ("own_address",)
_LONGEST_S = 20.0
SMALL = MemoryTest(0.9, PATTERNS, max_bytes=4 << 20)


def carried_out(
    device: Device, job: AllAtOnce, spoil: Callable[[TogetherWork], None] | None = None
) -> tuple[TogetherResult, list[WorkEvent]]:
    """The job's end and events; `spoil` is called once all work together."""
    events: list[WorkEvent] = []
    work = TogetherWork(device, job, LoadShare(1.0), events.append)
    try:
        for rest_s in work.slices():
            time.sleep(rest_s)
            if spoil is not None and any(isinstance(e, Progress) for e in events):
                spoil(work)
                spoil = None
        return work.result(), events
    finally:
        work.release()


def worked_through(
    device: Device, seconds: float, spoil: Callable[[TogetherWork], None] | None = None
) -> tuple[TogetherResult, list[WorkEvent]]:
    """As above with the small list, again for longer where a busy processor gave some part no turn.

    Nothing that is wrong is given a second chance: a run with a fault is the one that counts.
    """
    result, events = carried_out(device, AllAtOnce(seconds, SMALL, alone_s=0.05), spoil)
    every = result.memory_passes > 0 and all(part.together_per_s > 0.0 for part in result.parts)
    if every or faults(events) or seconds > _LONGEST_S:
        return result, events
    return worked_through(device, 4.0 * seconds, spoil)


def faults(events: list[WorkEvent]) -> dict[str, list[PartFault]]:
    found: dict[str, list[PartFault]] = {}
    for event in events:
        if isinstance(event, PartFault):
            found.setdefault(event.part, []).append(event)
    return found


def test_every_part_works_alone_and_beside_the_others(device: Device) -> None:
    result, events = worked_through(device, 1.5)
    assert result.complete
    assert {part.part for part in result.parts} == {"compute", "memory", "link"}
    for part in result.parts:
        assert part.done > 0.0
        assert part.alone_per_s > 0.0
        assert part.together_per_s > 0.0
        assert part.wrong == 0
    assert faults(events) == {}
    assert result.memory_passes > 0
    assert 0 < result.memory_bytes <= 4 << 20


def test_a_flipped_result_is_the_arithmetic_s(device: Device) -> None:
    def spoil(work: TogetherWork) -> None:
        unit: Any = work._parts[0].work
        mixed = unit._unit
        (bits,) = struct.unpack("<I", mixed._gpu.download(mixed.expected, 0, 4))
        mixed._gpu.upload(mixed.expected, struct.pack("<I", bits ^ (1 << 20)), 0)

    result, events = worked_through(device, 1.5, spoil)
    assert set(faults(events)) == {"compute"}
    assert all(fault.at_s is not None for fault in faults(events)["compute"])
    told = sum(fault.wrong for fault in faults(events)["compute"])
    assert told == next(p.wrong for p in result.parts if p.part == "compute") > 0


def test_a_memory_word_is_the_memory_s_within_one_pass(device: Device) -> None:
    planted = MemoryTest(0.9, PATTERNS, max_bytes=4 << 20, plants=(Plant(4096, flip_bits=4),))
    _, events = carried_out(device, AllAtOnce(0.5, planted, alone_s=0.05))
    assert set(faults(events)) == {"memory"}
    assert faults(events)["memory"][0].at_s is None  # in the very first pass, alone
    words = [event for event in events if isinstance(event, FailingWord)]
    assert {word.address_bytes for word in words} == {4096}


def test_a_copied_word_is_the_link_s(device: Device) -> None:
    def spoil(work: TogetherWork) -> None:
        copier: Any = work._parts[2].work
        ring = copier._copier.host
        gpu = copier._copier._gpu
        for place in range(0, ring.buffer.size, copier._copier.block_bytes):
            (bits,) = struct.unpack("<I", gpu.download(ring.buffer, place, 4))
            gpu.upload(ring.buffer, struct.pack("<I", bits ^ 1), place)

    _, events = worked_through(device, 1.5, spoil)
    assert set(faults(events)) == {"link"}


def test_side_by_side_no_part_waits_for_another_and_a_flip_is_still_found(
    device: Device, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As on a card whose API lets works run at the same moment; this adapter takes turns."""
    monkeypatch.setattr(type(device), "beside", lambda self: self, raising=False)
    assert isinstance(device, WorksBeside)
    waits: list[bool] = []

    def spoil(work: TogetherWork) -> None:
        waits.extend(part.work.pipeline.waits for part in work._parts)
        mixed: Any = work._parts[0].work
        unit = mixed._unit
        (bits,) = struct.unpack("<I", unit._gpu.download(unit.expected, 0, 4))
        unit._gpu.upload(unit.expected, struct.pack("<I", bits ^ (1 << 20)), 0)

    result, events = worked_through(device, 1.5, spoil)
    assert waits == [False, False, False]
    assert set(faults(events)) == {"compute"}
    assert all(part.together_per_s > 0.0 for part in result.parts)


def test_a_part_s_rate_alone_is_never_nothing(device: Device) -> None:
    """A part that is charged by a rate of nothing would have all the time that it asks for."""
    result, _ = carried_out(device, AllAtOnce(0.3, SMALL, alone_s=1e-6))
    assert all(part.alone_per_s > 0.0 for part in result.parts)


def test_work_and_rest_take_turns_in_steps(device: Device) -> None:
    result, events = carried_out(device, AllAtOnce(2.1, SMALL, alone_s=0.05, rate_hz=1.0))
    phases = [event.works for event in events if isinstance(event, PhaseBegan)]
    assert phases[:4] == [True, False, True, False]
    assert result.steps >= 2
    assert 0.0 < result.worked_s < result.seconds


def test_a_stop_half_way_still_tells_what_was_done(device: Device) -> None:
    events: list[WorkEvent] = []
    job = AllAtOnce(60.0, SMALL, alone_s=0.05)
    work = TogetherWork(device, job, LoadShare(1.0), events.append)
    slices = work.slices()
    for rest_s in slices:
        time.sleep(rest_s)
        if any(isinstance(event, Progress) for event in events):
            break
    slices.close()  # type: ignore[attr-defined]
    result = work.result()
    work.release()
    assert not result.complete
    assert {part.part for part in result.parts} == {"compute", "memory", "link"}


def test_the_job_and_its_end_cross_the_pipe() -> None:
    job = AllAtOnce(5.0, SMALL, alone_s=0.1, rate_hz=20.0)
    assert wire.unpacked(wire.message(wire.line({"job": job}))["job"]) == job
    fault = PartFault("memory", 3, None, 0.25)
    assert wire.unpacked(wire.message(wire.line({"event": fault}))["event"]) == fault


def test_what_has_most_of_the_time_is_never_held_back_by_its_rate_alone(device: Device) -> None:
    """A short moment alone may tell a hundredth of what a part does once its slices are whole."""
    work = TogetherWork(device, AllAtOnce(1.0, SMALL), LoadShare(1.0), lambda _: None)
    try:
        for part in work._parts:
            part.credit_s = -1.0
        may_begin = {part.name: part.may_begin for part in work._parts}
    finally:
        work.release()
    assert may_begin == {"compute": True, "memory": False, "link": False}
