"""The load that draws most power through Vulkan: arithmetic, workgroup memory and card memory."""

from __future__ import annotations

import struct
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

from burnin.core.errors import DeviceLost, EngineError
from burnin.core.meaning import Term
from burnin.engine.device.meanings import WorkTerm
from burnin.engine.device.queued import QueuedCall
from burnin.engine.vulkan.gpu import ROUND_BYTES, Gpu
from burnin.engine.vulkan.mixes import ACCESSES, MIXES, Mix

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

LANES = 256
SLOT_BYTES = ACCESSES * LANES * 16
STAGING = 3
ROLES = 2
STRIDE = 33
KEY = 0x9E3779B1
HALF, NO_HALF = "enable f16;\nalias Half = f16;\n", "alias Half = f32;\n"
WRONG_BYTES = 16
_ROUNDS_WRAP = 1 << 16
"""Rounds are numbered modulo this, so that a number times the workgroups stays below 2^32."""


class MixedKernels:
    """The kernels of mixed.wgsl, one a mix: made once a device, for that takes a while."""

    def __init__(self, gpu: Gpu, mixes: tuple[Mix, ...] = MIXES, *, half: bool) -> None:
        """`half`: half precision is that of the card; else single stands in for it."""
        self.table = mixes
        module = gpu.module("mixed", head=HALF if half else NO_HALF)
        self.layout = gpu.layout(("uniform", *["storage"] * 4))
        self.lay_out = gpu.pipeline(module, "lay_out", self.layout)
        self.work = [gpu.pipeline(module, "work", self.layout, mix.constants()) for mix in mixes]


def mixed_kernels(gpu: Gpu, mixes: tuple[Mix, ...] = MIXES) -> MixedKernels | None:
    """The kernels, with the card's half precision where it can; None where it can do neither."""
    for half in ("shader-f16" in gpu.features, False):
        try:
            return MixedKernels(gpu, mixes, half=half)
        except DeviceLost:
            raise
        except EngineError:  # a driver that makes no kernel of it
            continue
    return None


@dataclass(frozen=True)
class MixedSize:
    """A round is `groups` workgroups that each work `inner_rounds` of the kernel's.

    Many short workgroups end almost together, so that no part of the card rests between slices.
    """

    groups: int
    inner_rounds: int
    memory_bytes: int


class VulkanMixed:
    """See `burnin.engine.device.units.ArithmeticUnit`.

    Every round's results are compared to the bit with the first round's, every word that was moved
    with the rule of its place: `wrong_results` counts what differed. `mixes` of them can be worked.
    """

    def __init__(self, gpu: Gpu, kernels: MixedKernels, size: MixedSize) -> None:
        self._gpu = gpu
        self._size = size
        self._slots = max(1, min(size.memory_bytes, gpu.largest_buffer_bytes) // SLOT_BYTES)
        self._kernels = kernels
        self.mixes = len(kernels.table)
        self.title: Term = WorkTerm.MIXED_WORK()
        self.wrong_results = 0
        self._params = gpu.buffer(ROUND_BYTES, "UNIFORM", "COPY_DST")
        uses = ("STORAGE", "COPY_SRC", "COPY_DST")
        self.source = gpu.buffer(self._slots * SLOT_BYTES, *uses)
        self._target = gpu.buffer(self._slots * SLOT_BYTES, *uses)
        self.expected = gpu.buffer(self.mixes * ROLES * LANES * 8, *uses)
        self._wrong = gpu.buffer(WRONG_BYTES, *uses)
        self._staging = [gpu.buffer(4, "MAP_READ", "COPY_DST") for _ in range(STAGING)]
        self._queued = self._round = 0
        self._group = gpu.group(kernels.layout, (
            (self._params, ROUND_BYTES), (self.source, 0), (self._target, 0),
            (self.expected, 0), (self._wrong, 0),
        ))  # fmt: skip
        self.use(0)
        self._dispatch(kernels.lay_out, (min(self._slots, 4096), 1), 0).finish()
        for number, mix in enumerate(kernels.table):
            self.use(number)
            self._dispatch(kernels.work[number], (mix.stream_of + 1, 1), 1, first=1).finish()
        self.use(0)

    def use(self, mix: int) -> None:
        """Work this mix of the table from the next slice on."""
        self._mix = mix
        groups = self._size.groups * self._size.inner_rounds
        self.operations_per_round = self._kernels.table[mix].operations(groups, LANES)

    def work(self, rounds: int) -> QueuedCall[None]:
        """Queue `rounds` rounds."""
        size, kernel = self._size, self._kernels.work[self._mix]
        queued = self._dispatch(kernel, (size.groups, rounds), size.inner_rounds)
        self._round = (self._round + size.inner_rounds) % _ROUNDS_WRAP
        return queued

    def _dispatch(
        self, pipeline: Any, groups: tuple[int, int], rounds: int, first: int = 0
    ) -> QueuedCall[None]:
        gpu, staging = self._gpu, self._staging[self._queued % STAGING]
        self._queued += 1
        results = self._mix * ROLES * LANES
        gpu.upload(
            self._params, struct.pack("<5I", rounds, first, self._round, self._slots, results)
        )
        encoder = gpu.encoder()
        encoder.clear_buffer(self._wrong)
        work = encoder.begin_compute_pass()
        work.set_pipeline(pipeline)
        work.set_bind_group(0, self._group, [0])
        work.dispatch_workgroups(*groups)
        work.end()
        encoder.copy_buffer_to_buffer(self._wrong, 0, staging, 0, 4)
        gpu.submit(encoder)
        return QueuedCall(partial(self._ended, staging))

    def _ended(self, staging: Any) -> None:
        self.wrong_results += int.from_bytes(self._gpu.fetch(staging)[:4], "little")

    def reference_failures(self) -> int:
        """Results of workgroup memory that are not what the bench's processor makes of them.

        How multiply-adds round is the card's own affair; whole numbers are fixed by the standard.
        """
        import numpy as np

        got = np.frombuffer(
            self._gpu.download(self.expected, 0, self.expected.size), np.uint32
        ).reshape(self.mixes, ROLES, LANES, 2)[..., 1]
        return sum(
            int(np.count_nonzero(got[number, role] != words_read(reads)))
            for number, mix in enumerate(self._kernels.table)
            for role, reads in enumerate((ACCESSES * mix.shares, ACCESSES * mix.alone))
            if role == 0 or mix.stream_of > 1
        )

    def release(self) -> None:
        """Give its memory back."""
        for buffer in (
            self._params, self.source, self._target, self.expected, self._wrong, *self._staging
        ):  # fmt: skip
            buffer.destroy()


def words_read(reads: int) -> NDArray[np.uint32]:
    """What each lane of a workgroup makes of its reads of workgroup memory (mixed.wgsl)."""
    import numpy as np

    with np.errstate(over="ignore"):
        lane = np.arange(LANES, dtype=np.uint32)
        tile = (lane[:, None] * np.uint32(4) + np.arange(4, dtype=np.uint32)) * np.uint32(KEY)
        total = np.zeros((LANES, 4), np.uint32)
        for step in range(reads):
            total += tile[(lane + np.uint32(step * STRIDE)) & np.uint32(LANES - 1)]
        weights = np.array([1, 3, 5, 7], np.uint32)
        return np.asarray(np.bitwise_xor.reduce(total * weights, axis=1), np.uint32)
