"""The arithmetic load: work for a share of every slice, until it is stopped."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator

from burnin.engine.device import Device
from burnin.engine.job import ArithmeticLoad, LoadResult, Progress, Started
from burnin.engine.slices import Pipeline, SliceSize
from burnin.engine.work import Emit, LoadShare

PERIOD_S = 0.008
"""One slice of work and its rest; the sensors of a card average over more than this."""
PROGRESS_EVERY_S = 0.5


class ArithmeticWork:
    """An `ArithmeticLoad` under way. See `burnin.engine.work.Work`."""

    def __init__(self, device: Device, job: ArithmeticLoad, share: LoadShare, emit: Emit) -> None:
        self._unit = device.arithmetic()
        self._share = share
        self._share.set(job.share)
        self._emit = emit
        self._pipeline: Pipeline[None] = Pipeline()
        self._size = SliceSize(1, 1, 1 << 30, PERIOD_S)
        self._rounds_done = 0
        self._began_s = time.perf_counter()
        self._told_s = 0.0

    def slices(self) -> Iterator[float]:
        """Work without end: each period is `share` work, then rest."""
        self._emit(Started(f"arithmetic load: {self._unit.title}"))
        owed_rest_s = 0.0
        try:
            while True:
                share = self._share.share
                if share >= 1.0:
                    self._pipeline.make_room()
                    owed_rest_s = 0.0
                else:
                    self._pipeline.drain()
                before_s = time.perf_counter()
                yield owed_rest_s
                if time.perf_counter() - before_s > owed_rest_s + 0.005:
                    self._pipeline.paused()
                owed_rest_s = 0.0
                share = self._share.share
                if share <= 0.0:
                    owed_rest_s = PERIOD_S
                    continue
                began_s = time.perf_counter()
                self._push(self._size.amount(share))
                if share < 1.0:
                    self._pipeline.drain()
                    # the slice's own duration sets the rest: the share holds at any clock
                    worked_s = time.perf_counter() - began_s
                    owed_rest_s = worked_s * (1.0 - share) / share
                    owed_rest_s = min(owed_rest_s, PERIOD_S * 100)
                self._tell()
        finally:
            self._pipeline.abandon()

    def _push(self, rounds: int) -> None:
        def settle(_: None, seconds: float) -> None:
            if not math.isnan(seconds):
                self._size.took(rounds, seconds)
            self._rounds_done += rounds

        self._pipeline.push(self._unit.work(rounds), settle)

    def _operations(self) -> float:
        return self._rounds_done * self._unit.operations_per_round

    def _tell(self) -> None:
        now_s = time.perf_counter()
        if now_s - self._told_s >= PROGRESS_EVERY_S:
            self._told_s = now_s
            note = f"share {self._share.share:.3f}"
            self._emit(Progress(self._operations(), 0.0, "operations", note))

    def result(self) -> LoadResult:
        """Operations done until now."""
        return LoadResult(
            time.perf_counter() - self._began_s, self._operations(),
            self._pipeline.longest_slice_s,
        )

    def release(self) -> None:
        """Give its memory back."""
        self._unit.release()
