"""All parts of the simulated card at once: each alone first, then all, resting as power steps.

They do not slow one another here; how hot and how slow the card grows under them is the machine's.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from burnin.core.meaning import Note
from burnin.engine.job import (
    SLOW_STEPS_HZ,
    AllAtOnce,
    LinkTraffic,
    PartDone,
    PartFault,
    PhaseBegan,
    Progress,
    RepeatedCompute,
    TogetherResult,
    WorkEvent,
)
from burnin.sim.engine.compute_work import ComputeWork
from burnin.sim.engine.meanings import SimNote
from burnin.sim.engine.memory_work import MemoryWork
from burnin.sim.engine.work import TrafficWork
from burnin.sim.physics.machine import Machine
from burnin.sim.physics.power import IDLE, Activity

_CORE = 1.0
"""The core is full when all parts work; one that computes alone waits now and then."""


@dataclass
class _Part:
    name: str
    work: ComputeWork | MemoryWork | TrafficWork
    alone_s: float = 0.0
    alone_done: float = 0.0
    told_wrong: int = 0

    def done(self) -> float:
        """Operations or bytes so far."""
        if isinstance(self.work, ComputeWork):
            return self.work.operations
        if isinstance(self.work, MemoryWork):
            return self.work.progress().done
        return self.work.moved_bytes

    def wrong(self) -> int:
        """Wrong results so far; the link layer repeats what arrived wrong."""
        if isinstance(self.work, ComputeWork):
            return self.work.mismatches
        return self.work.wrong_words if isinstance(self.work, MemoryWork) else 0


class TogetherWork:
    """All parts at once; see `burnin.sim.engine.work.Work`."""

    def __init__(self, machine: Machine, job: AllAtOnce) -> None:
        self._job = job
        compute = RepeatedCompute(math.inf, job.seed, plants=job.plants)
        most = machine.memory.bandwidth_gbs * 1e9 * job.seconds
        patterns = max(1, len(job.memory.patterns))
        whole = MemoryWork(machine, replace(job.memory, passes=1, failing_words_path=""))
        passes = 3 + int(most / (2.0 * patterns * whole.tested_bytes))
        self._memory = MemoryWork(machine, replace(job.memory, passes=passes, duty=1.0))
        self._parts = (
            _Part("compute", ComputeWork(machine, compute)),
            _Part("memory", self._memory),
            _Part("link", TrafficWork(machine, LinkTraffic(math.inf))),
        )
        self._alone = list(self._parts)
        self._before: dict[str, float] = {}
        self._passes_before = 0
        self._seconds = self._worked_s = 0.0
        self._faults: list[WorkEvent] = []

    def plan(self) -> Note:
        """What will be done."""
        return SimNote.PLAN_ALL_AT_ONCE(
            mib=self._memory.tested_bytes / 2**20, seconds=self._job.seconds
        )

    @property
    def _phase(self) -> float:
        return self._seconds * self._job.rate_hz % 1.0

    @property
    def _rests(self) -> bool:
        return not self._alone and self._phase >= 0.5 - 1e-9

    def activity(self) -> Activity:
        """One part, or all of them, or none in a power step's rest."""
        if self._alone:
            return self._alone[0].work.activity()
        if self._rests:
            return IDLE
        asked = [part.work.activity() for part in self._parts]
        return Activity(
            core=_CORE,
            memory=min(1.0, sum(one.memory for one in asked)),
            link_to_card=max(one.link_to_card for one in asked),
            link_to_host=max(one.link_to_host for one in asked),
        )

    def steady_for_s(self) -> float:
        """For how long the same is asked for."""
        if self._alone or not self._job.rate_hz:
            return math.inf
        half_s = 0.5 / self._job.rate_hz
        return half_s - self._seconds % half_s or half_s

    def worked(self, seconds: float) -> None:
        """Part after part alone, then all."""
        if self._alone:
            self._worked_alone(seconds)
            return
        rests = self._rests
        self._seconds += seconds
        if not rests:
            self._worked_s += seconds
            for part in self._parts:
                part.work.worked(seconds)
        self._see_wrong(self._seconds)
        if self._rests != rests and self._job.rate_hz <= SLOW_STEPS_HZ:
            self._faults.append(PhaseBegan(rests))

    def _worked_alone(self, seconds: float) -> None:
        part = self._alone[0]
        part.work.worked(seconds)
        part.alone_s += seconds
        part.alone_done = part.done()
        self._see_wrong(None)
        enough = part.alone_s >= self._job.alone_s - 1e-9
        if enough and (part.work is not self._memory or self._memory.passes_done):
            self._alone.pop(0)
        if not self._alone:
            self._before = {part.name: part.done() for part in self._parts}
            self._passes_before = self._memory.passes_done

    def _see_wrong(self, at_s: float | None) -> None:
        for part in self._parts:
            more = part.wrong() - part.told_wrong
            if more:
                part.told_wrong += more
                phase = 0.0 if at_s is None else self._phase
                self._faults.append(PartFault(part.name, more, at_s, phase))

    def fresh(self) -> tuple[WorkEvent, ...]:
        """What was wrong since the last call."""
        found, self._faults = (*self._memory.fresh(), *self._faults), []
        return found

    def progress(self) -> Progress:
        """Seconds of work of all so far."""
        return Progress(min(self._seconds, self._job.seconds), self._job.seconds, "s")

    def done(self) -> bool:
        """Whether the asked seconds are over."""
        return not self._alone and self._seconds >= self._job.seconds - 1e-6

    def result(self) -> TogetherResult:
        """What each part did, alone and beside the others."""
        self._memory.result()  # closes its list of failing words
        worked_s = max(self._worked_s, 1e-9)
        parts = []
        for part in self._parts:
            done = part.done()
            together = done - self._before.get(part.name, done)
            alone = part.alone_done / max(part.alone_s, 1e-9)
            parts.append(PartDone(part.name, together, alone, together / worked_s, part.told_wrong))
        return TogetherResult(
            seconds=self._seconds,
            worked_s=self._worked_s,
            steps=math.ceil(self._seconds * self._job.rate_hz - 1e-6),
            parts=tuple(parts),
            memory_bytes=self._memory.tested_bytes,
            memory_passes=self._memory.passes_done - self._passes_before,
            complete=self.done(),
        )
