"""Traffic between host and card, every byte verified."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator

from burnin.core.errors import EngineError
from burnin.engine.device.device import Device
from burnin.engine.device.slices import Pipeline, Scale, SliceSize
from burnin.engine.device.units import Moved
from burnin.engine.job import LinkTraffic, Progress, Started, TrafficResult
from burnin.engine.meanings import EngineNote, EngineReason, EngineTerm
from burnin.engine.work import Emit

DIRECTIONS = {
    "to_card": EngineTerm.TO_CARD,
    "to_host": EngineTerm.TO_HOST,
    "both": EngineTerm.BOTH,
}
PROGRESS_EVERY_S = 0.2


class TrafficWork:
    """A `LinkTraffic` under way. See `burnin.engine.work.Work`.

    `wrong_words` arrived so far.
    """

    def __init__(
        self, device: Device, job: LinkTraffic, emit: Emit, scale: Scale | None = None
    ) -> None:
        if job.direction not in DIRECTIONS:
            raise EngineError(
                EngineReason.UNKNOWN_DIRECTION(asked=job.direction, known=tuple(DIRECTIONS))
            )
        self._job = job
        self._emit = emit
        self._copier = device.copier(job.direction, seed=1)
        self.pipeline: Pipeline[Moved] = Pipeline()
        self._size = SliceSize(1, 1, self._copier.largest_blocks, scale=scale)
        self._to_card = self._to_host = self.wrong_words = 0
        self._copy_s = 0.0
        self._began_s = time.perf_counter()
        self._told_s = 0.0

    def slices(self) -> Iterator[float]:
        """Copy until the time is over."""
        direction, blocks = DIRECTIONS[self._job.direction](), self._copier.blocks
        self._emit(Started(EngineNote.PLAN_TRAFFIC(direction=direction, blocks=blocks)))
        try:
            while time.perf_counter() - self._began_s < self._job.seconds:
                self.pipeline.make_room()
                yield 0.0
                self._push(self._size.amount())
                self._tell()
            self.pipeline.drain()
        finally:
            self.pipeline.abandon()

    def _push(self, blocks: int) -> None:
        def settle(moved: Moved, seconds: float) -> None:
            if not math.isnan(seconds):
                self._size.took(blocks, seconds)
            self._to_card += moved.to_card_bytes
            self._to_host += moved.to_host_bytes
            self.wrong_words += moved.wrong_words
            self._copy_s += moved.seconds

        self.pipeline.push(self._copier.copy(blocks), settle)

    @property
    def moved_bytes(self) -> int:
        """Bytes that went either way so far."""
        return self._to_card + self._to_host

    def _tell(self) -> None:
        now_s = time.perf_counter()
        if now_s - self._told_s >= PROGRESS_EVERY_S:
            self._told_s = now_s
            done_s = min(now_s - self._began_s, self._job.seconds)
            moved = EngineNote.BYTES_MOVED(moved_bytes=self.moved_bytes)
            self._emit(Progress(done_s, self._job.seconds, "s", moved))

    def paused(self) -> None:
        """The next slice was kept waiting."""
        self.pipeline.paused()

    def settle(self) -> None:
        """Wait for what is queued and take in what it found."""
        self.pipeline.drain()

    def result(self) -> TrafficResult:
        """Bytes moved until now and their mean rate."""
        seconds = max(self._copy_s, 1e-9)
        return TrafficResult(
            seconds=time.perf_counter() - self._began_s,
            to_card_bytes=self._to_card,
            to_host_bytes=self._to_host,
            to_card_gbs=self._to_card / seconds / 1e9,
            to_host_gbs=self._to_host / seconds / 1e9,
            wrong_words=self.wrong_words,
            longest_slice_s=self.pipeline.longest_slice_s,
        )

    def release(self) -> None:
        """Give its memory back."""
        self._copier.release()
