"""Repeated computation: every result must equal the first one to the bit."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator

from burnin.core.errors import EngineError
from burnin.engine.device.device import Device
from burnin.engine.device.slices import Pace, Pipeline, Scale, SliceSize
from burnin.engine.device.units import ComputeUnit, Differences, Disturbance
from burnin.engine.job import (
    ComputeMismatch,
    ComputeResult,
    Progress,
    RepeatedCompute,
    ResultPlant,
    Started,
)
from burnin.engine.meanings import EngineNote, EngineReason, EngineTerm
from burnin.engine.work import Emit

PROGRESS_EVERY_S = 0.2
EXAMPLES = 64
HEAVY = 0.5
"""Units that do at least this part of what the one that does most does count as the heaviest."""


class ComputeWork:
    """A `RepeatedCompute` under way. See `burnin.engine.work.Work`.

    `operations` done, `mismatches` of results between repeats, `reference_failures` so far.
    """

    def __init__(
        self,
        device: Device,
        job: RepeatedCompute,
        emit: Emit,
        scale: Scale | None = None,
        *,
        heaviest: bool = False,
    ) -> None:
        """`heaviest`: only the units that do most in a repeat, which draw most power."""
        self._job = job
        self._emit = emit
        found = device.compute_units(job.seed)
        self._units = list(found.units)
        self._not_offered, self._not_made = dict(found.not_offered), dict(found.not_made)
        self._processors, self._places = found.processors, dict.fromkeys(self._names(), 0)
        if heaviest:
            self._keep_heaviest()
        self._refuse_unknown_plants()
        self.pipeline: Pipeline[Differences] = Pipeline()
        self._pace = Pace(self.pipeline, job.duty)
        self._sizes = {u.name: SliceSize(1, 1, 1 << 20, scale=scale) for u in self._units}
        self._repeats = dict.fromkeys(self._sizes, 0)
        self._compared = dict.fromkeys(self._sizes, 0)
        self.operations = 0.0
        self.mismatches = 0
        self._examples: list[ComputeMismatch] = []
        self.reference_failures: dict[str, int] = {}
        self._planted: set[ResultPlant] = set()
        self._began_s = time.perf_counter()
        self._told_s = 0.0

    def _names(self) -> list[str]:
        return [unit.name for unit in self._units]

    def _keep_heaviest(self) -> None:
        most = max(unit.operations_per_repeat for unit in self._units)
        light = [u for u in self._units if u.operations_per_repeat < HEAVY * most]
        for unit in light:
            self._units.remove(unit)
            unit.release()

    def _refuse_unknown_plants(self) -> None:
        sizes = {unit.name: unit.results for unit in self._units}
        for plant in self._job.plants:
            if not 0 <= plant.index < sizes.get(plant.unit, 0) or plant.repeat < 2:
                self.release()
                units = tuple(EngineTerm.UNIT(unit=u, results=n) for u, n in sizes.items())
                raise EngineError(
                    EngineReason.NO_RESULT_TO_DISTURB(
                        unit=plant.unit, index=plant.index, repeat=plant.repeat, units=units
                    )
                )

    def slices(self) -> Iterator[float]:
        """Units in turn, until the time is over."""
        units = tuple(EngineTerm.UNIT(unit=u.name, results=u.results) for u in self._units)
        self._emit(Started(EngineNote.PLAN_COMPUTE(units=units)))
        try:
            for unit in self._units:
                yield from self._pace.next_slice()
                self._push(unit, 1)
                self.pipeline.drain()
                failures = unit.reference_failures(self._job.seed)
                if failures is not None:
                    self.reference_failures[unit.name] = failures
            self._began_s = time.perf_counter()
            while self._elapsed_s() < self._job.seconds:
                for unit in self._units:
                    yield from self._pace.next_slice()
                    self._push(unit, self._sizes[unit.name].amount())
                self._tell()
            self.pipeline.drain()
        finally:
            self.pipeline.abandon()

    def _elapsed_s(self) -> float:
        return time.perf_counter() - self._began_s

    def _disturbance(self, unit: ComputeUnit, first: int, times: int) -> Disturbance | None:
        for plant in self._job.plants:
            due = plant.unit == unit.name and plant.repeat < first + times
            if due and plant not in self._planted:
                self._planted.add(plant)
                return Disturbance(plant.index, plant.flip_bits)
        return None

    def _push(self, unit: ComputeUnit, times: int) -> None:
        name = unit.name
        first = self._repeats[name] + 1
        self._repeats[name] += times
        disturb = self._disturbance(unit, first, times) if first > 1 else None

        def settle(found: Differences, seconds: float) -> None:
            if not math.isnan(seconds):
                self._sizes[name].took(times, seconds)
            self._compared[name] += unit.results * (times if first > 1 else 0)
            self.operations += unit.operations_per_repeat * times
            self.mismatches += found.count
            self._places[name] |= found.places
            for index, expected, got in found.examples:
                if len(self._examples) < EXAMPLES:
                    self._examples.append(ComputeMismatch(name, first, index, expected, got))

        self.pipeline.push(unit.repeat(times, disturb), settle)

    def _tell(self) -> None:
        now_s = time.perf_counter()
        if now_s - self._told_s >= PROGRESS_EVERY_S:
            self._told_s = now_s
            done_s = min(self._elapsed_s(), self._job.seconds)
            note = EngineNote.RESULTS_COMPARED(results=sum(self._compared.values()))
            self._emit(Progress(done_s, self._job.seconds, "s", note))

    def paused(self) -> None:
        """The next slice was kept waiting."""
        self.pipeline.paused()

    def settle(self) -> None:
        """Wait for what is queued and take in what it found."""
        self.pipeline.drain()

    def result(self) -> ComputeResult:
        """Results compared until now and what differed."""
        return ComputeResult(
            seconds=self._elapsed_s(),
            repeats=min(self._repeats.values(), default=0),
            results=dict(self._compared),
            mismatches=self.mismatches,
            reference_failures=dict(self.reference_failures),
            examples=tuple(self._examples),
            operations=self.operations,
            not_offered=self._not_offered,
            not_made=self._not_made,
            processors=self._processors,
            worked_on={name: bits.bit_count() for name, bits in self._places.items() if bits},
            longest_slice_s=self.pipeline.longest_slice_s,
        )

    def release(self) -> None:
        """Give its memory back."""
        for unit in self._units:
            unit.release()
