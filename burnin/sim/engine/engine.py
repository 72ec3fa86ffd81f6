"""The engine of a simulated machine, under the same dead-man switch as a real one."""

from __future__ import annotations

import math
from typing import assert_never

from burnin.core.errors import EngineError
from burnin.core.opening import EngineDescription
from burnin.engine.job import (
    AllAtOnce,
    ArithmeticLoad,
    Failed,
    Job,
    LinkTraffic,
    MemoryTest,
    RepeatedCompute,
    Started,
    WorkEvent,
)
from burnin.engine.meanings import EngineReason
from burnin.sim.engine.compute_work import ComputeWork
from burnin.sim.engine.meanings import SimNote
from burnin.sim.engine.memory_work import MemoryWork
from burnin.sim.engine.together_work import TogetherWork
from burnin.sim.engine.work import ArithmeticWork, TrafficWork, Work
from burnin.sim.physics.machine import Machine
from burnin.sim.physics.power import IDLE, Activity

BEAT_LIMIT_S = 2.0
"""Machine time without a beat after which the work ends by itself."""
_CONFIRM_S = 0.015
"""The slice at hand runs to its end before a stop is confirmed."""


class SimulatedEngine:
    """Answers `burnin.engine.engine.Engine`; time passes only as the machine's clock does.

    `address`: the bus address that its API tells, as CUDA's does; empty: none, as Vulkan's.
    """

    def __init__(self, machine: Machine, address: str = "") -> None:
        self._machine, self.address = machine, address
        self._work: Work | None = None
        self._events: list[WorkEvent] = []
        self._beat_s = 0.0
        self._last_progress = -1.0
        machine.employ(self)

    def description(self) -> EngineDescription:
        """What works the card."""
        return EngineDescription(
            name="simulated",
            adapter=self._machine.scenario.card.name,
            driver="corvane (simulated)",
            why=SimNote.MACHINE_IS_SIMULATED(),
            simulated=True,
            address=self.address,
        )

    def begin(self, job: Job) -> None:
        """Start a job; raises EngineError if one is running."""
        if self._work is not None:
            raise EngineError(EngineReason.JOB_RUNS())
        self._work = _work(self._machine, job)
        self._beat_s = self._machine.time_s
        self._last_progress = -1.0
        self._events = [Started(self._work.plan())]
        self._see_card()

    def poll(self) -> tuple[WorkEvent, ...]:
        """Events since the last call, oldest first."""
        if self._work is not None:
            self._events += self._work.fresh()
            progress = self._work.progress()
            if progress.done != self._last_progress:
                self._last_progress = progress.done
                self._events.append(progress)
        events, self._events = tuple(self._events), []
        return events

    def beat(self) -> None:
        """The supervisor lives and the last sample passed its guards."""
        self._beat_s = self._machine.time_s

    def set_share(self, share: float) -> None:
        """Share (0 to 1) of an arithmetic load that runs; nothing else heeds it."""
        if isinstance(self._work, ArithmeticWork):
            self._work.share = min(1.0, max(0.0, share))

    def stop(self) -> float:
        """End the job at once; seconds until it was confirmed."""
        if self._work is None:
            return 0.0
        self._end(self._work.result())
        return _CONFIRM_S

    def close(self) -> None:
        """Stop; there is no worker process to end."""
        self.stop()

    def activity(self, time_s: float) -> Activity:
        """What the machine shall do now; nothing any more once the beats have stopped."""
        if self._work is None:
            return IDLE
        if time_s - self._beat_s >= BEAT_LIMIT_S - 1e-9:
            self._end(Failed(EngineReason.NO_HEARTBEAT(seconds=BEAT_LIMIT_S)))
            return IDLE
        return self._work.activity()

    def steady_for_s(self) -> float:
        """For how long the machine shall do the same."""
        if isinstance(self._work, TogetherWork):
            return self._work.steady_for_s()
        return math.inf

    def worked(self, seconds: float) -> None:
        """The machine has done so for that long."""
        if self._work is None:
            return
        self._see_card()
        if self._work is not None:
            self._work.worked(seconds)
            if self._work.done():
                self._end(self._work.result())

    def _see_card(self) -> None:
        if not self._machine.card_answers:
            lost = EngineReason.CARD_LOST(how=EngineReason.NO_ANSWER())
            self._end(Failed(lost, device_lost=True))

    def _end(self, last: WorkEvent) -> None:
        if self._work is not None:
            self._events += self._work.fresh()
            if not isinstance(last, Failed):
                self._events.append(self._work.progress())
        self._events.append(last)
        self._work = None


def _work(machine: Machine, job: Job) -> Work:
    """What a job is to this machine; raises EngineError for an unknown memory pattern."""
    match job:
        case ArithmeticLoad():
            return ArithmeticWork(machine, min(1.0, max(0.0, job.share)))
        case MemoryTest():
            return MemoryWork(machine, job)
        case RepeatedCompute():
            return ComputeWork(machine, job)
        case LinkTraffic():
            return TrafficWork(machine, job)
        case AllAtOnce():
            return TogetherWork(machine, job)
        case _:
            assert_never(job)
