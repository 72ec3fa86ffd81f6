"""A repeated computation on the simulated card; a weak core flips bits once it is hot enough."""

from __future__ import annotations

import random

from burnin.core.errors import EngineError
from burnin.core.meaning import Note
from burnin.engine.job import ComputeMismatch, ComputeResult, Progress, RepeatedCompute, WorkEvent
from burnin.sim.causes.kinds import ComputeCause, RailCause
from burnin.sim.engine.meanings import SimNote, SimReason
from burnin.sim.physics.machine import Machine
from burnin.sim.physics.power import Activity

UNITS = ("float", "integer")
RESULTS = 1 << 20
"""Results of one repeat and unit."""
_REPEATS_PER_S = 40.0
_OPERATIONS_PER_RESULT = 4096.0
_EXAMPLES = 16


class ComputeWork:
    """A repeated computation that goes on."""

    def __init__(self, machine: Machine, job: RepeatedCompute) -> None:
        if job.plants:
            raise EngineError(SimReason.DISTURBS_NO_RESULTS())
        self._machine = machine
        self._job = job
        self._chance = random.Random(f"{machine.seed}/compute/{job.seed}")
        self._causes = [c for c in machine.scenario.causes if isinstance(c, ComputeCause)]
        self._rail = any(isinstance(c, RailCause) for c in machine.scenario.causes)
        self._seconds = 0.0
        self._repeats = 0.0
        self.mismatches = 0
        self._examples: list[ComputeMismatch] = []

    def plan(self) -> Note:
        """What will be done."""
        return SimNote.PLAN_COMPUTE(results_count=RESULTS, seconds=self._job.seconds)

    def activity(self) -> Activity:
        """The core nearly full for the job's share of the time."""
        return Activity(core=0.85 * self._job.duty, memory=0.1 * self._job.duty)

    def worked(self, seconds: float) -> None:
        """Repeats follow the clock; mismatches follow the causes and the die's temperature."""
        card = self._machine.scenario.card
        speed = self._machine.power.clock_mhz / card.max_clock_mhz
        before = int(self._repeats)
        self._seconds += seconds
        self._repeats += _REPEATS_PER_S * speed * self._job.duty * seconds
        fresh = int(self._repeats) - before
        die_c = self._machine.network.at("die")
        for cause in self._causes:
            if cause.above_die_c is not None and die_c < cause.above_die_c:
                continue
            units = UNITS if cause.unit == "any" else (cause.unit,)
            for unit in units:
                self._flip(cause, unit, before, fresh)
        if self._rail and self._machine.rail.drooped and int(self._repeats) > 0:
            self._wrong("float", int(self._repeats), self._chance.randrange(32))

    def _flip(self, cause: ComputeCause, unit: str, first: int, repeats: int) -> None:
        """Wrong results of some repeats; the first repeat is what the others are compared with."""
        for repeat in range(max(1, first), first + repeats):
            mean = RESULTS / cause.one_in
            wrong = int(mean) + (self._chance.random() < mean - int(mean))
            if wrong:
                self._wrong(unit, repeat, cause.bit, wrong)

    def _wrong(self, unit: str, repeat: int, bit: int, results: int = 1) -> None:
        """One bit was wrong in some results of a repeat."""
        self.mismatches += results
        if len(self._examples) < _EXAMPLES:
            index = self._chance.randrange(RESULTS)
            expected = random.Random(f"{self._job.seed}/{unit}/{index}").getrandbits(32)
            got = expected ^ (1 << bit)
            self._examples.append(ComputeMismatch(unit, repeat, index, expected, got))

    @property
    def operations(self) -> float:
        """Operations done so far."""
        return int(self._repeats) * len(UNITS) * RESULTS * _OPERATIONS_PER_RESULT

    def fresh(self) -> tuple[WorkEvent, ...]:
        """Nothing is found on the way."""
        return ()

    def progress(self) -> Progress:
        """Seconds so far."""
        return Progress(min(self._seconds, self._job.seconds), self._job.seconds, "s")

    def done(self) -> bool:
        """Whether the asked seconds are over."""
        return self._seconds >= self._job.seconds - 1e-6

    def result(self) -> ComputeResult:
        """Repeats, compared results and mismatches."""
        repeats = int(self._repeats)
        compared = max(0, repeats - 1) * RESULTS
        return ComputeResult(
            seconds=self._seconds,
            repeats=repeats,
            results=dict.fromkeys(UNITS, compared),
            mismatches=self.mismatches,
            reference_failures=dict.fromkeys(UNITS, 0),
            examples=tuple(self._examples),
            operations=self.operations,
        )
