"""Arithmetic load and repeatable results through Vulkan."""

from __future__ import annotations

import struct
from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, Any

from burnin.core.meaning import Term
from burnin.engine.device import reference
from burnin.engine.device.meanings import WorkTerm
from burnin.engine.device.queued import QueuedCall
from burnin.engine.device.units import Differences, Disturbance
from burnin.engine.vulkan.gpu import ROUND_BYTES, Gpu

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Reference = Callable[[NDArray[np.uint32], int], NDArray[np.uint32]]

INVOCATIONS = 256
STEPS_PER_ROUND = 16
STAGING = 3
REFERENCE_SAMPLE = 4096
FOUND_BYTES = 1024
EXAMPLES = 64


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


class VulkanChain:
    """One chain of compute.wgsl. See `burnin.engine.device.units.ComputeUnit`."""

    def __init__(
        self,
        gpu: Gpu,
        module: Any,
        entry: str,
        name: str,
        results: int,
        operations_per_step: int,
        seed: int,
        expected: Reference | None,
    ) -> None:
        self._gpu = gpu
        self._seed = seed & 0xFFFFFFFF
        self._reference = expected
        self.name = name
        self.results = results
        self.operations_per_repeat = float(results * reference.STEPS * operations_per_step)
        layout = gpu.layout(("uniform", "storage", "storage"))
        self._pipeline = gpu.pipeline(module, entry, layout)
        self._params = gpu.buffer(2 * ROUND_BYTES, "UNIFORM", "COPY_DST")
        self._expected = gpu.buffer(results * 4, "STORAGE", "COPY_SRC")
        self._found = gpu.buffer(FOUND_BYTES, "STORAGE", "COPY_SRC", "COPY_DST")
        self._staging = [
            gpu.buffer(FOUND_BYTES, "MAP_READ", "COPY_DST") for _ in range(STAGING)
        ]
        self._group = gpu.group(
            layout, ((self._params, ROUND_BYTES), (self._expected, 0), (self._found, 0))
        )
        self._slices = 0

    def repeat(self, times: int, disturb: Disturbance | None) -> QueuedCall[Differences]:
        """Compute `times` times; the very first repeat sets what the others must equal."""
        gpu = self._gpu
        first = int(self._slices == 0)
        staging = self._staging[self._slices % STAGING]
        self._slices += 1
        place, bits = (disturb.index, disturb.flip_bits) if disturb else (0, 0)
        plain = struct.pack("<4I", self._seed, 0, 0, 0).ljust(ROUND_BYTES, b"\0")
        opening = struct.pack("<4I", self._seed, first, place, bits).ljust(ROUND_BYTES, b"\0")
        gpu.upload(self._params, opening + plain)
        encoder = gpu.encoder()
        encoder.clear_buffer(self._found)
        work = encoder.begin_compute_pass()
        work.set_pipeline(self._pipeline)
        for number in range(times):
            work.set_bind_group(0, self._group, [0 if number == 0 else ROUND_BYTES])
            work.dispatch_workgroups(self.results // INVOCATIONS)
        work.end()
        encoder.copy_buffer_to_buffer(self._found, 0, staging, 0, FOUND_BYTES)
        gpu.submit(encoder)
        return QueuedCall(partial(self._differences, staging))

    def _differences(self, staging: Any) -> Differences:
        values = struct.unpack("<256I", self._gpu.fetch(staging))
        listed = min(values[0], EXAMPLES)
        examples = tuple(
            (values[1 + 3 * k], values[2 + 3 * k], values[3 + 3 * k]) for k in range(listed)
        )
        return Differences(values[0], examples)

    def reference_failures(self, seed: int) -> int | None:
        """Compare evenly spread results with the bench's processor."""
        if self._reference is None:
            return None
        import numpy as np

        raw = self._gpu.download(self._expected, 0, self.results * 4)
        stride = max(1, self.results // REFERENCE_SAMPLE)
        index = np.arange(0, self.results, stride, dtype=np.uint32)
        got = np.frombuffer(raw, np.uint32)[index]
        return int(np.count_nonzero(got != self._reference(index, seed)))

    def release(self) -> None:
        """Give its memory back."""
        for buffer in (self._params, self._expected, self._found, *self._staging):
            buffer.destroy()


def chains(gpu: Gpu, results: int, seed: int) -> list[VulkanChain]:
    """The units of compute.wgsl."""
    module = gpu.module("compute")
    return [
        VulkanChain(
            gpu, module, "integer_chain", "integer", results, 9, seed, reference.integer_chain
        ),
        VulkanChain(gpu, module, "exact_chain", "fp32", results, 7, seed, reference.exact_chain),
        VulkanChain(gpu, module, "rounded_chain", "fp32 rounded", results, 3, seed, None),
    ]
