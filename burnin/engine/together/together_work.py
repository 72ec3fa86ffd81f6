"""All parts at once: each alone first, then slices of all in turn, with rests where power steps.

Where the API lets work run side by side (`WorksBeside`) it does; else the slices take turns in the
card's queue. Either way each part has at most two slices queued, which shrink until a turn of all
(side by side: a slice of each) takes as long as one slice alone: a stop is no later than of one.
"""

from __future__ import annotations

import time
from collections.abc import Iterator

from burnin.engine.device.device import Device, WorksBeside
from burnin.engine.device.slices import SLICE_S
from burnin.engine.job import (
    SLOW_STEPS_HZ,
    AllAtOnce,
    PartDone,
    PartFault,
    PhaseBegan,
    Progress,
    Started,
    TogetherResult,
)
from burnin.engine.meanings import EngineNote
from burnin.engine.together.checked_load import CheckedLoad
from burnin.engine.together.parts import (
    FASTEST,
    FIRST_BESIDE,
    LEAST_PART,
    SLOWEST,
    Part,
    parts_of,
)
from burnin.engine.work import Emit, LoadShare

PROGRESS_EVERY_S = 0.2
POLL_S = 0.0003
"""Between two looks at what runs side by side, where no part may queue more."""
TURNS_A_PHASE = 6.0
"""Turns that fit into the shorter of a step's phases, so that its edges stay sharp."""


class TogetherWork:
    """An `AllAtOnce` under way. See `burnin.engine.work.Work`."""

    def __init__(self, device: Device, job: AllAtOnce, share: LoadShare, emit: Emit) -> None:
        self._job, self._emit = job, emit
        self._parts, self._memory = parts_of(device, job, share, emit)
        self._of_whole = 1.0 / len(self._parts)
        """Part of a slice alone that a slice of each is now, before its weight."""
        half_s = 0.5 / job.rate_hz if job.rate_hz > 0.0 else float("inf")
        self._half_s = half_s
        self._turn_s = min(SLICE_S, half_s / TURNS_A_PHASE)
        self._began_s: float | None = None
        self._ended_s = self._worked_s = 0.0
        self._work_began_s: float | None = None
        self._steps = 0
        self._done_before: dict[str, float] = {}
        self._passes_before = 0
        self._beside = isinstance(device, WorksBeside)
        self._turn_began_s: float | None = None
        self._earned_s = self._told_s = 0.0
        self._complete = False

    def slices(self) -> Iterator[float]:
        """Each part alone, then all until the time is over."""
        titles = tuple(part.title for part in self._parts)
        mib = self._memory.area_bytes / 2**20
        self._emit(Started(EngineNote.PLAN_ALL_AT_ONCE(parts=titles, mib=mib)))
        try:
            for part in self._parts:
                yield from self._alone(part)
            yield from self._together()
            self._complete = True
        finally:
            self._ended_s = time.perf_counter()
            for part in self._parts:
                part.slices.close()  # type: ignore[attr-defined]  # a generator
                self._tell_wrong(part)

    def _alone(self, part: Part) -> Iterator[float]:
        """One part until it is known how much it does, and how much of it fits into a slice.

        Its rate is that of the second half: in the first kernels are made and slices are short.
        A rate of nothing would let it spend without being charged: it goes on until some is done.
        """
        began_s, half_s = time.perf_counter(), self._job.alone_s / 2.0
        from_s, before, rested_s, counts = began_s, part.done(), 0.0, False
        while True:
            rest_s = next(part.slices)
            self._tell_wrong(part)
            now_s = time.perf_counter()
            if not counts and now_s - began_s >= half_s:
                from_s, before, rested_s, counts = now_s, part.done(), 0.0, True
            if counts and part.done() > before and now_s - from_s >= half_s and part.gauged():
                break
            yield rest_s
            rested_s += rest_s
        part.work.settle()
        spent_s = time.perf_counter() - from_s - rested_s
        part.alone_per_s = (part.done() - before) / max(spent_s, 1e-9)
        part.work.paused()
        part.due_s = now_s + rest_s

    def _together(self) -> Iterator[float]:
        for part in self._parts:
            part.scale.learns = False
            part.charged = part.done()
            part.work.pipeline.waits = not self._beside
            part.scale.part = FIRST_BESIDE[part.name] * self._turn_s / SLICE_S
        if not self._beside:
            self._use_scale()
        self._began_s = self._earned_s = began_s = time.perf_counter()
        self._done_before = {part.name: part.done() for part in self._parts}
        self._passes_before = self._memory.passes_done
        while (now_s := time.perf_counter()) - began_s < self._job.seconds:
            rest_s = self._rest_s(now_s - began_s)
            if rest_s > 0.0:
                self._rest_begins()
                yield rest_s
                continue
            self._work_begins(now_s)
            yield from self._turn()
            self._tell(now_s)
        self._rest_begins()

    def _rest_s(self, since_s: float) -> float:
        """How long there is to be no work from now on; a phase of work ends two turns early."""
        phase_s = since_s % (2.0 * self._half_s)
        if phase_s < self._half_s - 2.0 * self._turn_s:
            return 0.0
        return 2.0 * self._half_s - phase_s

    def _work_begins(self, now_s: float) -> None:
        if self._work_began_s is None:
            self._work_began_s = self._earned_s = now_s
            self._steps += 1
            self._turn_began_s = None
            self._tell_phase(works=True)

    def _rest_begins(self) -> None:
        """Nothing is queued any more; what was found is told with the phase in which it was."""
        for part in self._parts:
            part.work.settle()
            self._tell_wrong(part)
        if self._work_began_s is not None:
            self._worked_s += time.perf_counter() - self._work_began_s
            self._work_began_s = None
            self._tell_phase(works=False)

    def _tell_phase(self, *, works: bool) -> None:
        if 0.0 < self._job.rate_hz <= SLOW_STEPS_HZ:
            self._emit(PhaseBegan(works))

    def _turn(self) -> Iterator[float]:
        """One slice of each part that is due, has room, and has not had more than its share."""
        now_s = time.perf_counter()
        due = [part for part in self._parts if part.due_s <= now_s]
        if not due:
            self._turn_began_s = None
            yield min(part.due_s for part in self._parts) - now_s
            return
        for part in self._parts:
            part.earn(now_s - self._earned_s, self._turn_s)
        self._earned_s = now_s
        if self._beside:
            free = [part for part in due if part.has_room(self._turn_s)]
            turn = [part for part in free if part.may_begin]
            if not turn:
                yield POLL_S
                return
        else:
            most = max(due, key=lambda part: part.credit_s)
            turn = [part for part in due if part.may_begin] or [most]
            self._see_turn(whole=len(due) == len(self._parts))
            for part in due:
                if part not in turn:
                    part.work.paused()
        for part in turn:
            yield 0.0
            rest_s = next(part.slices)
            part.due_s = time.perf_counter() + rest_s if rest_s > 0.0 else 0.0
            self._tell_wrong(part)

    def _see_turn(self, *, whole: bool) -> None:
        """All slices shrink or grow by one measure, by how long the last turn took."""
        now_s = time.perf_counter()
        if self._turn_began_s is not None:
            factor = self._turn_s / max(now_s - self._turn_began_s, 1e-6)
            of_whole = self._of_whole * min(FASTEST, max(SLOWEST, factor))
            self._of_whole = min(1.0, max(LEAST_PART, of_whole))
            self._use_scale()
        self._turn_began_s = now_s if whole else None

    def _use_scale(self) -> None:
        for part in self._parts:
            part.scale.part = self._of_whole * part.weight

    def _tell_wrong(self, part: Part) -> None:
        more = part.new_wrong()
        if more:
            since_s = None if self._began_s is None else time.perf_counter() - self._began_s
            phase = 0.0 if since_s is None else since_s / (2.0 * self._half_s) % 1.0
            self._emit(PartFault(part.name, more, since_s, phase))

    def _tell(self, now_s: float) -> None:
        if self._began_s is not None and now_s - self._told_s >= PROGRESS_EVERY_S:
            self._told_s = now_s
            done_s = min(now_s - self._began_s, self._job.seconds)
            self._emit(Progress(done_s, self._job.seconds, "s"))

    def paused(self) -> None:
        """The next slice was kept waiting."""
        self._turn_began_s = None
        for part in self._parts:
            part.work.paused()

    def settle(self) -> None:
        """Wait for what is queued and take in what it found."""
        for part in self._parts:
            part.work.settle()

    def result(self) -> TogetherResult:
        """What each part did until now, alone and beside the others."""
        seconds = 0.0 if self._began_s is None else self._ended_s - self._began_s
        worked_s = self._worked_s
        if self._work_began_s is not None:
            worked_s += self._ended_s - self._work_began_s
        done = {part.name: part.done() for part in self._parts}
        return TogetherResult(
            seconds=seconds,
            worked_s=worked_s,
            steps=self._steps if self._job.rate_hz > 0.0 else 0,
            parts=tuple(self._part_done(part, done[part.name], worked_s) for part in self._parts),
            memory_bytes=self._memory.area_bytes,
            memory_passes=self._memory.passes_done - self._passes_before,
            complete=self._complete,
            longest_slice_s=max(_longest_s(part) for part in self._parts),
            mix=max(p.work.mix if isinstance(p.work, CheckedLoad) else -1 for p in self._parts),
        )

    def _part_done(self, part: Part, done: float, worked_s: float) -> PartDone:
        together = done - self._done_before.get(part.name, done)
        return PartDone(
            part.name, together, part.alone_per_s, together / max(worked_s, 1e-9), part.told_wrong
        )

    def release(self) -> None:
        """Give all memory back."""
        for part in self._parts:
            part.work.release()


def _longest_s(part: Part) -> float:
    return float(getattr(part.work.result(), "longest_slice_s", 0.0))
