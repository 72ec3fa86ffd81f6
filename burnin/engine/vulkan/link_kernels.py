"""The kernels of link.wgsl: pipelines, parameters, and what one queued slice of copies needs.

Blocks are numbered along one endless stream; a ring holds the newest of them. Word k of block n is
word n * block_words + k of the stream, and its content follows from that number.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from burnin.engine.device.recipes import ONES, Recipe
from burnin.engine.vulkan.card_clock import CardClock
from burnin.engine.vulkan.gpu import ROUND_BYTES, Gpu

PASSES = 3
"""Kernels that one slice may start, each with parameters of its own."""
WRONG_BYTES = 256
STAGING_BYTES = WRONG_BYTES + 256


@dataclass(frozen=True)
class Ring:
    """A buffer of `blocks` places; block n lies at place n modulo that."""

    buffer: Any
    blocks: int
    block_bytes: int

    def offset_bytes(self, number: int) -> int:
        """Where block `number` lies."""
        return number % self.blocks * self.block_bytes


@dataclass(frozen=True)
class Run:
    """`blocks` blocks of a stream from `number` on, as `ring` holds them.

    `named` is the number that their content was made by, where that is not `number`.
    """

    ring: Ring
    number: int
    blocks: int
    named: int = -1

    def place(self) -> tuple[int, int, int]:
        """The kernels' three parameters: stream number low and high, first vec4 in the ring."""
        number = self.number if self.named < 0 else self.named
        word = number * (self.ring.block_bytes // 4)
        return word & ONES, word >> 32, self.ring.offset_bytes(self.number) // 16


@dataclass(frozen=True)
class LinkSlot:
    """Buffers of one queued slice."""

    params: Any
    wrong: Any
    staging: Any
    clock: CardClock | None
    groups: dict[Any, Any] = field(default_factory=dict)

    def release(self) -> None:
        """Give its memory back."""
        for part in (self.params, self.wrong, self.staging):
            part.destroy()
        if self.clock is not None:
            self.clock.release()


class LinkKernels:
    """Checks, fills, or does both at once with blocks of a ring.

    Each kernel is first used in a trial, while nothing else is queued.
    """

    def __init__(self, gpu: Gpu, rule: Recipe) -> None:
        self._gpu = gpu
        self.rule = rule
        self._bindings = gpu.layout(("uniform", "storage", "storage"))
        self._module = gpu.module("link")

    def pipeline(self, name: str) -> Any:
        """The pipeline of one kernel, made when it is first asked for."""
        return self._gpu.pipeline(self._module, name, self._bindings)

    def slot(self) -> LinkSlot:
        """Buffers of one slice."""
        gpu = self._gpu
        return LinkSlot(
            gpu.buffer(PASSES * ROUND_BYTES, "UNIFORM", "COPY_DST"),
            gpu.buffer(WRONG_BYTES, "STORAGE", "COPY_SRC", "COPY_DST"),
            gpu.buffer(STAGING_BYTES, "MAP_READ", "COPY_DST"),
            CardClock(gpu) if CardClock.offered(gpu) else None,
        )

    def group(self, slot: LinkSlot, ring: Ring) -> Any:
        """The bind group of a slot with a ring."""
        if ring.buffer not in slot.groups:
            slot.groups[ring.buffer] = self._gpu.group(
                self._bindings, ((slot.params, ROUND_BYTES), (ring.buffer, 0), (slot.wrong, 0))
            )
        return slot.groups[ring.buffer]
