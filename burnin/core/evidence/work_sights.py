"""Sights of work and screens: what went on in spite of a fault, and what else shows a picture."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from burnin.core.evidence.seen import Seen
from burnin.core.meaning import Reason
from burnin.core.parties import Sight
from burnin.core.reading import Reading, Verdict, reading_subject

KERNEL = "whole_run_kernel_log"
_SEVERAL = 3
_TOGETHER = {"display_lost_together", "movement_came_of_screens"}
_FAULT_AND_HANG = {"kernel_gpu_fault", "kernel_work_timed_out"}
_RIGHT_WORK = ("results_that_changed", "wrong_against_processor", "failing_words")
"""Readings that compare every result or word with what it must be."""


def work_sights(
    seen: Seen, readings: Sequence[Reading], fault: Reason | None = None
) -> Iterator[Sight]:
    """Of a fault that the kernel told: did the card answer, and was its work right all the same?"""
    told = set() if fault is None else {part.code for part in fault.parts()}
    if seen.on_the_bus:
        yield Sight.ANSWERS_AFTER
        if told >= _FAULT_AND_HANG:
            yield Sight.FAULT_AND_HANG
    elif seen.on_the_bus is not None:
        yield Sight.GONE_FROM_THE_BUS
    compared = [r for r in readings if reading_subject(r.name)[0] in _RIGHT_WORK]
    right = [r for r in compared if r.verdict is Verdict.PASS]
    if seen.on_the_bus and right and len(right) == len(compared):
        yield Sight.WORK_STAYED_RIGHT


def shared_by_screens(reading: Reading, readings: Sequence[Reading], seen: Seen) -> bool:
    """Whether three screens or more went together, or all of two, while the card worked on.

    Sockets, plugs and monitors do not part in one moment; what several share does: a strip with a
    switch, a dock, a switch box (common practice, no source).
    """
    if seen.on_the_bus is False:
        return False
    why = reading.reason
    if why is not None and any(part.code in _TOGETHER for part in why.parts()):
        return True
    found = _of_screens(reading, readings)
    return len(found) >= _SEVERAL and all(r.value == "disconnected" for r in found)


def _of_screens(reading: Reading, readings: Sequence[Reading]) -> list[Reading]:
    """Whether screens were there, as the stage of a reading saw it."""
    if reading_subject(reading.name)[0] != "screen_detected":
        return []
    return [
        r
        for r in readings
        if reading_subject(r.name)[0] == "screen_detected" and r.stage == reading.stage
    ]


def screen_sights(reading: Reading, readings: Sequence[Reading]) -> Iterator[Sight]:
    """Whether other outputs show their screens in the same stage."""
    found = _of_screens(reading, readings)
    if any(r.verdict is Verdict.PASS for r in found):
        yield Sight.OTHER_SCREENS_GOOD
    elif len(found) > 1:
        yield Sight.ALL_SCREENS_DARK
