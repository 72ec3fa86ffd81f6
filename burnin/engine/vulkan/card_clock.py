"""Seconds between two places of a submission, by the card's own clock.

Where two slices are queued, the bench's clock tells when one was noticed to be over, not how long
its copies ran; and of a slice that moves data and then checks it, it cannot tell the first part.
"""

from __future__ import annotations

import struct
from typing import Any

from burnin.engine.vulkan.gpu import CLOCK_FEATURES, Gpu

MARKS = 2
RESOLVED_BYTES = 256
"""Marks are resolved into a buffer at multiples of this (WebGPU)."""


class CardClock:
    """Marks of one slice: begin and end. `offered` must be asked first."""

    def __init__(self, gpu: Gpu) -> None:
        from wgpu.backends.wgpu_native import extras

        self._gpu = gpu
        self._write = extras.write_timestamp
        self._period_s = _period_s(gpu)
        self._marks = gpu.call(lambda: gpu.device.create_query_set(type="timestamp", count=MARKS))
        self._resolved = gpu.buffer(RESOLVED_BYTES, "QUERY_RESOLVE", "COPY_SRC")

    @staticmethod
    def offered(gpu: Gpu) -> bool:
        """Whether the card has such a clock, and the library tells how fast it runs."""
        return gpu.features >= CLOCK_FEATURES and _period_s(gpu) > 0.0

    def mark(self, encoder: Any, number: int) -> None:
        """Note the time once all that was recorded before is done."""
        self._gpu.call(lambda: self._write(encoder, self._marks, number))

    def bring(self, encoder: Any, staging: Any, offset: int) -> None:
        """Copy both marks to a mappable buffer."""
        encoder.resolve_query_set(self._marks, 0, MARKS, self._resolved, 0)
        encoder.copy_buffer_to_buffer(self._resolved, 0, staging, offset, 8 * MARKS)

    def seconds(self, raw: bytes) -> float:
        """Seconds between the marks, from the bytes that `bring` copied."""
        began, ended = struct.unpack("<2Q", raw[: 8 * MARKS])
        return float(max(0, ended - began) * self._period_s)

    def release(self) -> None:
        """Give its memory back."""
        self._marks.destroy()
        self._resolved.destroy()


def _period_s(gpu: Gpu) -> float:
    """Seconds of one tick (wgpu.h, `wgpuQueueGetTimestampPeriod`, in ns); 0 where not told."""
    try:
        from wgpu.backends.wgpu_native import lib

        return float(lib.wgpuQueueGetTimestampPeriod(gpu.device.queue._internal)) * 1e-9
    except (ImportError, AttributeError, TypeError):
        return 0.0
