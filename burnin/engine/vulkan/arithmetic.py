"""Arithmetic load through Vulkan, for cards that can not work the mixed one."""

from __future__ import annotations

import struct
from functools import partial
from typing import Any

from burnin.core.meaning import Term
from burnin.engine.device.meanings import WorkTerm
from burnin.engine.device.queued import QueuedCall
from burnin.engine.vulkan.gpu import ROUND_BYTES, Gpu

INVOCATIONS = 256
STEPS_PER_ROUND = 16
STAGING = 3


class VulkanArithmetic:
    """Fused multiply-adds. See `burnin.engine.device.units.ArithmeticUnit`."""

    def __init__(self, gpu: Gpu, groups: int) -> None:
        self._gpu = gpu
        self._groups = groups
        self.operations_per_round = float(groups * INVOCATIONS * STEPS_PER_ROUND * 8 * 4 * 2)
        self.title: Term = WorkTerm.FUSED_MULTIPLY_ADD_FP32()
        layout = gpu.layout(("uniform", "storage"))
        self._pipeline = gpu.pipeline(gpu.module("arithmetic"), "fused_multiply_add", layout)
        self._params = gpu.buffer(ROUND_BYTES, "UNIFORM", "COPY_DST")
        self._sink = gpu.buffer(1024, "STORAGE", "COPY_SRC")
        self._staging = [gpu.buffer(4, "MAP_READ", "COPY_DST") for _ in range(STAGING)]
        self._next = 0
        self._group = gpu.group(layout, ((self._params, ROUND_BYTES), (self._sink, 0)))

    def work(self, rounds: int) -> QueuedCall[None]:
        """Queue `rounds` rounds."""
        gpu = self._gpu
        staging = self._staging[self._next % STAGING]
        self._next += 1
        gpu.upload(self._params, struct.pack("<IfII", rounds, 0.5, 0, 0))
        encoder = gpu.encoder()
        work = encoder.begin_compute_pass()
        work.set_pipeline(self._pipeline)
        work.set_bind_group(0, self._group, [0])
        work.dispatch_workgroups(self._groups)
        work.end()
        encoder.copy_buffer_to_buffer(self._sink, 0, staging, 0, 4)
        gpu.submit(encoder)
        return QueuedCall(partial(_wait, gpu, staging))

    def release(self) -> None:
        """Give its memory back."""
        for buffer in (self._params, self._sink, *self._staging):
            buffer.destroy()


def _wait(gpu: Gpu, staging: Any) -> None:
    gpu.fetch(staging)
