"""One slice of link traffic, recorded step by step and handed to the card in one submission."""

from __future__ import annotations

import struct
from dataclasses import dataclass

from burnin.engine.vulkan.gpu import ROUND_BYTES, Gpu
from burnin.engine.vulkan.link_kernels import WRONG_BYTES, LinkKernels, LinkSlot, Run

TILE_VECS = 1024
LARGEST_GROUPS = 65535


@dataclass(frozen=True)
class Found:
    """What a slice found: words that were wrong, and seconds between its two marks.

    `seconds` is None on a card without a clock that can be read.
    """

    wrong_words: int
    seconds: float | None


class LinkSlice:
    """One slice under way of being recorded; `submit` hands it to the card."""

    def __init__(
        self, gpu: Gpu, kernels: LinkKernels, slot: LinkSlot, most_groups: int = 0
    ) -> None:
        """`most_groups`: see `link_ways.Way`."""
        self._gpu = gpu
        self._kernels = kernels
        self._slot = slot
        self._most_groups = most_groups or LARGEST_GROUPS
        self._passes = 0
        self.encoder = gpu.encoder()
        self.encoder.clear_buffer(slot.wrong)

    def check(self, run: Run) -> None:
        """Compare every word of the blocks."""
        self._pass("check_blocks", run, run)

    def fill(self, run: Run) -> None:
        """Write every word of the blocks."""
        self._pass("fill_blocks", run, run)

    def check_and_fill(self, checked: Run, filled: Run) -> None:
        """Both at once, with as many blocks of the same ring."""
        self._pass("check_and_fill", checked, filled)

    def copy(self, source: Run, target: Run) -> None:
        """Copy blocks between rings, block by block."""
        for step in range(source.blocks):
            self.encoder.copy_buffer_to_buffer(
                source.ring.buffer, source.ring.offset_bytes(source.number + step),
                target.ring.buffer, target.ring.offset_bytes(target.number + step),
                source.ring.block_bytes,
            )  # fmt: skip

    def mark(self, number: int) -> None:
        """0: copies begin here, 1: they end here."""
        if self._slot.clock is not None:
            self._slot.clock.mark(self.encoder, number)

    def _pass(self, name: str, checked: Run, filled: Run) -> None:
        gpu, slot, kernels, ring = self._gpu, self._slot, self._kernels, checked.ring
        vecs = checked.blocks * ring.block_bytes // 16
        packed = struct.pack(
            "<10I", *checked.place(), *filled.place(), vecs, ring.blocks * ring.block_bytes // 16,
            kernels.rule.a, kernels.rule.b,
        )  # fmt: skip
        offset = self._passes * ROUND_BYTES
        self._passes += 1
        gpu.upload(slot.params, packed, offset)
        group = kernels.group(slot, ring)
        work = self.encoder.begin_compute_pass()
        work.set_pipeline(kernels.pipeline(name))
        work.set_bind_group(0, group, [offset])
        work.dispatch_workgroups(min(self._most_groups, vecs // TILE_VECS))
        work.end()

    def submit(self) -> None:
        """Hand it to the card."""
        slot, encoder = self._slot, self.encoder
        encoder.copy_buffer_to_buffer(slot.wrong, 0, slot.staging, 0, 4)
        if slot.clock is not None:
            slot.clock.bring(encoder, slot.staging, WRONG_BYTES)
        self._gpu.submit(encoder)

    def finish(self) -> Found:
        """Wait until it is done; what it found."""
        raw = self._gpu.fetch(self._slot.staging)
        clock = self._slot.clock
        seconds = None if clock is None else clock.seconds(raw[WRONG_BYTES:])
        return Found(int.from_bytes(raw[:4], "little"), seconds)
