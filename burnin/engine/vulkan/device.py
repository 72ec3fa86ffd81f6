"""The Vulkan engine's device: see `burnin.engine.device.device.Device`."""

from __future__ import annotations

from typing import Any

from burnin.core.errors import EngineError
from burnin.core.opening import EngineDescription
from burnin.engine.device.area import GRAIN_WORDS, AreaFound, AreaWanted, OutOfCardMemory
from burnin.engine.device.meanings import AreaReason
from burnin.engine.device.preparing import StoppedBeforeLoad
from burnin.engine.device.units import ArithmeticUnit, Copier, UnitsFound
from burnin.engine.vulkan.adapters import VulkanChoice, native_adapter
from burnin.engine.vulkan.area import VulkanArea
from burnin.engine.vulkan.arithmetic import VulkanArithmetic
from burnin.engine.vulkan.copier import copier_for
from burnin.engine.vulkan.gpu import Gpu
from burnin.engine.vulkan.mixed import MixedKernels, MixedSize, VulkanMixed, mixed_kernels
from burnin.engine.vulkan.unit_table import units_of

GRAIN_BYTES = GRAIN_WORDS * 4
SMALLEST_PIECE_BYTES = 16 * 2**20
SOFTWARE_CAP_BYTES = 64 * 2**20
RESERVE_BYTES = 96 * 2**20
"""Left free when memory is taken until the API refuses: lists and copies need some."""

LOADS = tuple(MixedSize(512, 4, memory_bytes) for memory_bytes in (512 * 2**20, 128 * 2**20))
"""The load moves memory well above any card's cache; less on a card that has no more."""
SOFTWARE_LOAD = MixedSize(4, 1, 2**20)


class VulkanDevice:
    """A card, or a processor that plays one, opened through Vulkan."""

    def __init__(self, choice: VulkanChoice) -> None:
        self._choice = choice
        self._software = choice.adapter.software
        self._gpu = Gpu(native_adapter(choice))
        self._gpu.wake()
        self._kernels_made = False
        self._kernels: MixedKernels | None = None

    def description(self) -> EngineDescription:
        """The adapter and why it was taken."""
        adapter = self._choice.adapter
        return EngineDescription(
            "vulkan", adapter.name, adapter.driver, self._choice.why, not self._software
        )

    def take_area(self, wanted: AreaWanted) -> AreaFound:
        """Take buffers until the share is reached or the API refuses one."""
        self._gpu.idle()
        if not 0.0 < wanted.share <= 1.0:
            raise EngineError(AreaReason.WRONG_SHARE(share=wanted.share))
        cap = wanted.max_bytes or (SOFTWARE_CAP_BYTES if self._software else 0)
        known = wanted.free_bytes or (cap if self._software else 0)
        target = int(known * wanted.share) if known else 0
        if cap:
            target = min(target or cap, cap)
        buffers = self._take(target)
        taken = sum(buffer.size for buffer in buffers)
        if not known and not cap:
            known = taken
            self._give_back_above(buffers, int(taken * wanted.share))
        if not buffers:
            raise EngineError(
                AreaReason.NONE_GIVEN(asked_bytes=target, smallest_piece_bytes=GRAIN_BYTES)
            )
        return AreaFound(VulkanArea(self._gpu, buffers, wanted), known or taken, 0)

    def _take(self, target: int) -> list[Any]:
        """Buffers of `target` bytes in all; 0: as many as there are, less a reserve."""
        largest = self._gpu.largest_buffer_bytes // GRAIN_BYTES * GRAIN_BYTES
        reserve = None if target else self._gpu.buffer(RESERVE_BYTES, "STORAGE", "COPY_DST")
        size, taken = largest, 0
        smallest = GRAIN_BYTES if target else SMALLEST_PIECE_BYTES
        buffers: list[Any] = []
        while size >= smallest:
            if target:
                size = min(size, (target - taken) // GRAIN_BYTES * GRAIN_BYTES)
                if size <= 0:
                    break
            try:
                buffers.append(self._gpu.buffer(size, "STORAGE", "COPY_SRC", "COPY_DST"))
                taken += size
            except (OutOfCardMemory, EngineError):
                size, smallest = size // 2 // GRAIN_BYTES * GRAIN_BYTES, SMALLEST_PIECE_BYTES
            except StoppedBeforeLoad:
                self._give_back_above(buffers, 0)
                raise
        if reserve is not None:
            reserve.destroy()
        return buffers

    def _give_back_above(self, buffers: list[Any], target: int) -> None:
        while len(buffers) > 1 and sum(b.size for b in buffers) - buffers[-1].size >= target:
            buffers.pop().destroy()

    def arithmetic(self) -> ArithmeticUnit:
        """Arithmetic and memory at once; multiply-adds alone on a card that cannot."""
        self._gpu.idle()
        if not self._kernels_made:
            self._kernels_made, self._kernels = True, mixed_kernels(self._gpu)
        if self._kernels is not None:
            for size in (SOFTWARE_LOAD,) if self._software else LOADS:
                try:
                    return VulkanMixed(self._gpu, self._kernels, size)
                except OutOfCardMemory:
                    continue
        return VulkanArithmetic(self._gpu, 16 if self._software else 4096)

    def compute_units(self, seed: int) -> UnitsFound:
        """Arithmetic of every format, memory of workgroups, textures, rasterisation, blending."""
        self._gpu.idle()
        results = 1 << 14 if self._software else 1 << 20
        return units_of(self._gpu, results, seed, software=self._software)

    def copier(self, direction: str, seed: int) -> Copier:
        """In host memory that the card works on itself; staged where it cannot."""
        self._gpu.idle()
        return copier_for(self._gpu, direction, seed, software=self._software)

    def close(self) -> None:
        """Let go of the device."""
        self._gpu.close()
