"""The arithmetic load: work for a share of every slice, until it is stopped."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator

from burnin.core.errors import EngineError
from burnin.engine.compute.mix_trial import MixTrial
from burnin.engine.device.device import Device
from burnin.engine.device.slices import Pipeline, SliceSize
from burnin.engine.device.units import ComparesResults, OffersMixes
from burnin.engine.job import ArithmeticLoad, LoadResult, Progress, Started
from burnin.engine.meanings import EngineNote, EngineReason
from burnin.engine.work import Emit, LoadShare

PERIOD_S = 0.008
"""One slice of work and its rest; the sensors of a card average over more than this."""
PROGRESS_EVERY_S = 0.5
FIRST_OF_MIX = 0.125
"""First slice of another mix, beside the last of the one before: three doublings make it whole."""
LEAST_OF_SLICE = 0.5
"""Shortest slice of short rounds, beside a whole one: what is worked is learnt anew from each as
the clocks of the card rise, and a small share has its slices further apart."""
SMOOTHING = 0.05
"""Weight of a slice that ran between others in what a round takes."""


class ArithmeticWork:
    """An `ArithmeticLoad` under way. See `burnin.engine.work.Work`."""

    def __init__(self, device: Device, job: ArithmeticLoad, share: LoadShare, emit: Emit) -> None:
        self._unit = device.arithmetic()
        self._share = share
        self._share.set(job.share)
        self._emit = emit
        self._pipeline: Pipeline[None] = Pipeline()
        self._size = SliceSize(1, 1, 1 << 30, PERIOD_S)
        mixes = self._unit.mixes if isinstance(self._unit, OffersMixes) else 1
        self._trial, self._mix = MixTrial(mixes), 0
        # Short rounds cost more to queue than to work: until slices are as long as they will be,
        # a small share would be a tenth of itself, and rise tenfold once it is learnt.
        self._gauged, self._slice_s = mixes == 1, math.nan
        self._least_slice = 0.0 if mixes == 1 else LEAST_OF_SLICE
        self._operations = 0.0
        self._round_s = 0.0
        self._began_s = time.perf_counter()
        self._told_s = 0.0

    def slices(self) -> Iterator[float]:
        """Work without end: as much as the share has made due, then rest until more is due.

        Work is owed by the clock and paid by the shortest time that a round ever took. That time
        does not move with the bench's own delays, so an unchanged share is an unchanged number of
        rounds a second; over a second it is off by a slice at most.
        """
        self._emit(Started(EngineNote.PLAN_LOAD(unit=self._unit.title)))
        due_s, last_s, rest_s = 0.0, time.perf_counter(), 0.0
        try:
            while True:
                full = self._share.share >= 1.0
                if full:
                    self._pipeline.make_room()
                else:
                    self._pipeline.drain()
                yield rest_s
                now_s = time.perf_counter()
                share = self._share.share
                self._choose_mix(now_s, share)
                if share > 0.0 and not self._gauged:
                    self._gauge()
                    due_s, last_s, rest_s = 0.0, time.perf_counter(), 0.0
                    continue
                rounds = self._size.amount(max(share, self._least_slice))
                # what was missed in a pause is not made good: it would come as one lump
                most_s = max(2.0 * PERIOD_S, rounds * self._round_s)
                due_s = min(due_s + share * (now_s - last_s), most_s)
                last_s = now_s
                rest_s = 0.0
                if share >= 1.0:
                    due_s = 0.0
                elif share <= 0.0:
                    rest_s = PERIOD_S
                    continue
                elif due_s < rounds * self._round_s:
                    rest_s = min((rounds * self._round_s - due_s) / share, PERIOD_S * 100)
                    continue
                due_s -= rounds * self._round_s
                self._push(rounds)
                self._tell()
        finally:
            self._pipeline.abandon()

    def _gauge(self) -> None:
        """One slice of full work, alone; twice as long each time until it is a whole one."""
        rounds = self._size.amount()
        self._push(rounds)
        self._pipeline.drain()
        if not math.isnan(self._slice_s):
            self._gauged = self._size.amount() <= rounds

    def _choose_mix(self, now_s: float, share: float) -> None:
        """Of several mixes the one that draws most power, once that is known."""
        mix = self._trial.see(now_s, full=share >= 1.0, power_w=self._share.power_w)
        if mix != self._mix and isinstance(self._unit, OffersMixes):
            self._pipeline.drain()
            self._unit.use(mix)
            self._mix, self._round_s = mix, 0.0
            # its rounds may take several times as long: it begins with little
            self._size = SliceSize(self._size.amount(FIRST_OF_MIX), 1, 1 << 30, PERIOD_S)

    def _push(self, rounds: int) -> None:
        # counted from before it is queued, and on an idle card only: never too short
        operations = rounds * self._unit.operations_per_round
        alone, queued_s = not len(self._pipeline), time.perf_counter()

        def settle(_: None, seconds: float) -> None:
            self._slice_s = seconds
            if not math.isnan(seconds):
                self._size.took(rounds, seconds)
                self._learn((time.perf_counter() - queued_s if alone else seconds) / rounds, alone)
            self._operations += operations
            self._look_at_results()

        self._pipeline.push(self._unit.work(rounds), settle)

    def _look_at_results(self) -> None:
        """A wrong result ends the load: nothing that is measured under it would count."""
        unit = self._unit
        if isinstance(unit, ComparesResults) and unit.wrong_results:
            raise EngineError(EngineReason.WRONG_UNDER_LOAD(results=unit.wrong_results))

    def _learn(self, a_round_s: float, alone: bool) -> None:
        if self._round_s == 0.0:
            self._round_s = a_round_s
        elif a_round_s < self._round_s:
            # between others one slice may look short because the one before was noticed late
            weight = 1.0 if alone else SMOOTHING
            self._round_s += weight * (a_round_s - self._round_s)

    def _tell(self) -> None:
        now_s = time.perf_counter()
        if now_s - self._told_s >= PROGRESS_EVERY_S:
            self._told_s = now_s
            note = EngineNote.SHARE(share=self._share.share)
            self._emit(Progress(self._operations, 0.0, "operations", note))

    def paused(self) -> None:
        """The next slice was kept waiting."""
        self._pipeline.paused()

    def settle(self) -> None:
        """Wait for what is queued."""
        self._pipeline.drain()

    def result(self) -> LoadResult:
        """Operations done until now."""
        return LoadResult(
            time.perf_counter() - self._began_s, self._operations,
            self._pipeline.longest_slice_s,
        )

    def release(self) -> None:
        """Give its memory back."""
        self._unit.release()
