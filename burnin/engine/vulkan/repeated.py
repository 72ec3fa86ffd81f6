"""Results that repeat to the bit through Vulkan: one unit, its kernel, and how it is checked."""

from __future__ import annotations

import struct
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from typing import TYPE_CHECKING, Any

from burnin.engine.device import reference
from burnin.engine.device.queued import QueuedCall
from burnin.engine.device.units import Differences, Disturbance
from burnin.engine.vulkan.gpu import ROUND_BYTES, Gpu

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Words = NDArray[np.uint32]

INVOCATIONS = 256
STAGING = 3
FOUND_BYTES = 1024
EXAMPLES = 64
PARAMS = ("uniform", "storage", "storage")
"""What every such kernel is given: what it is told, the results, and what differed."""


@dataclass(frozen=True)
class Beside:
    """What a kernel is given beside PARAMS, and what is to be done before each repeat.

    `draw`: commands that an encoder takes before the kernel, given where the parameters lie.
    """

    bindings: tuple[str, ...] = ()
    resources: tuple[Any, ...] = ()
    draw: Callable[[Any, Any, int], None] | None = None
    release: Callable[[], None] = field(default=lambda: None)


NOTHING_BESIDE = Beside()


@dataclass(frozen=True)
class Unit:
    """One unit of the card: its kernel, and what its results must be.

    `right` computes results at indices; `outside` counts those that lie outside their bounds: of
    a unit with neither, repeats alone are compared. `in_groups`: only whole workgroups can be
    computed. `features` of the adapter are needed.
    """

    name: str
    files: tuple[str, ...]
    entry: str
    operations: int
    right: Callable[[Words, int], Words] | None = None
    outside: Callable[[Words, Words, int], int] | None = None
    in_groups: bool = False
    features: frozenset[str] = frozenset()
    head: str = ""
    constants: dict[str, float] = field(default_factory=dict)

    def failures(self, index: Words, got: Words, seed: int) -> int | None:
        """Wrong ones among these results; None where there is nothing to hold them against."""
        import numpy as np

        if self.outside is not None:
            return self.outside(index, got, seed)
        if self.right is not None:
            return int(np.count_nonzero(got != self.right(index, seed)))
        return None


class VulkanRepeated:
    """See `burnin.engine.device.units.ComputeUnit`."""

    def __init__(
        self, gpu: Gpu, unit: Unit, results: int, seed: int, beside: Beside = NOTHING_BESIDE
    ) -> None:
        self._gpu, self._unit, self._beside = gpu, unit, beside
        self._seed = seed & 0xFFFFFFFF
        self.name = unit.name
        self.results = results
        self.operations_per_repeat = float(results * unit.operations)
        layout = gpu.layout((*PARAMS, *beside.bindings))
        module = gpu.module("repeating", *unit.files, head=unit.head)
        self._pipeline = gpu.pipeline(module, unit.entry, layout, unit.constants)
        self._params = gpu.buffer(2 * ROUND_BYTES, "UNIFORM", "COPY_DST")
        self._expected = gpu.buffer(results * 4, "STORAGE", "COPY_SRC")
        self._found = gpu.buffer(FOUND_BYTES, "STORAGE", "COPY_SRC", "COPY_DST")
        self._staging = [
            gpu.buffer(FOUND_BYTES, "MAP_READ", "COPY_DST") for _ in range(STAGING)
        ]
        own = ((self._params, ROUND_BYTES), (self._expected, 0), (self._found, 0))
        self._group = gpu.group(layout, (*own, *beside.resources))
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
        if self._beside.draw is None:
            self._compute(encoder, [0 if number == 0 else ROUND_BYTES for number in range(times)])
        else:
            for number in range(times):
                self._beside.draw(encoder, self._params, ROUND_BYTES)
                self._compute(encoder, [0 if number == 0 else ROUND_BYTES])
        encoder.copy_buffer_to_buffer(self._found, 0, staging, 0, FOUND_BYTES)
        gpu.submit(encoder)
        return QueuedCall(partial(self._differences, staging))

    def _compute(self, encoder: Any, offsets: list[int]) -> None:
        work = encoder.begin_compute_pass()
        work.set_pipeline(self._pipeline)
        for offset in offsets:
            work.set_bind_group(0, self._group, [offset])
            work.dispatch_workgroups(self.results // INVOCATIONS)
        work.end()

    def _differences(self, staging: Any) -> Differences:
        values = struct.unpack("<256I", self._gpu.fetch(staging))
        listed = min(values[0], EXAMPLES)
        examples = tuple(
            (values[1 + 3 * k], values[2 + 3 * k], values[3 + 3 * k]) for k in range(listed)
        )
        return Differences(values[0], examples)

    def reference_failures(self, seed: int) -> int | None:
        """Compare evenly spread results with the bench's processor."""
        import numpy as np

        raw = self._gpu.download(self._expected, 0, self.results * 4)
        index = reference.sample(self.results, in_groups=self._unit.in_groups)
        return self._unit.failures(index, np.frombuffer(raw, np.uint32)[index], seed)

    def release(self) -> None:
        """Give its memory back."""
        for buffer in (self._params, self._expected, self._found, *self._staging):
            buffer.destroy()
        self._beside.release()


CHAINS = (
    Unit("integer", ("compute",), "integer_chain", 9 * reference.STEPS, reference.integer_chain),
    Unit("fp32", ("compute",), "exact_chain", 7 * reference.STEPS, reference.exact_chain),
    Unit("fp32 rounded", ("compute",), "rounded_chain", 3 * reference.STEPS),
)
