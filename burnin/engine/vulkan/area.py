"""Memory under test through Vulkan: as many buffers as the API needs, one address range."""

from __future__ import annotations

import importlib
import struct
from functools import partial
from typing import TYPE_CHECKING, Any

from burnin.engine.device.area import (
    EVERY_TILE,
    GRAIN_WORDS,
    TILE_WORDS,
    AreaWanted,
    Findings,
    Span,
    Tally,
    Tiles,
)
from burnin.engine.device.layout import Layout
from burnin.engine.device.patterns import recipe
from burnin.engine.device.queued import QueuedCall
from burnin.engine.device.recipes import Recipe
from burnin.engine.vulkan.card_clock import CardClock
from burnin.engine.vulkan.gpu import ROUND_BYTES, Gpu
from burnin.engine.vulkan.memory_kernels import (
    COUNT_BYTES,
    ENTRY_BYTES,
    LARGEST_PIECES,
    LIST_WORDS,
    SPAN_TILES,
    MemoryKernels,
    Slot,
    params,
    workgroups,
)

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

SLOTS = 4
FIRST_WRITE_WORDS = 1 << 30
"""4 GiB: every buffer was touched, and so cleared, before; slices grow by doubling all the same."""
EVERY_KIND = AreaWanted(1.0)


class VulkanArea:
    """The test area of one job. See `burnin.engine.device.area.Area`.

    `kernel_s`: seconds that kernels worked by the card's own clock, where `time_kernels` was asked.
    """

    list_words = LIST_WORDS

    def __init__(self, gpu: Gpu, buffers: list[Any], wanted: AreaWanted = EVERY_KIND) -> None:
        """`wanted`: the kernels that will be used."""
        self.kernel_s = 0.0
        self._gpu = gpu
        self._buffers = buffers
        self._layout = Layout([b.size // 4 for b in buffers])
        self.words = self._layout.words
        self.buffers = len(buffers)
        # counts are 32-bit, and a span must not cross more buffers than there are parameters for
        reach = SPAN_TILES * TILE_WORDS - GRAIN_WORDS
        if len(buffers) > LARGEST_PIECES:
            sizes = sorted(b.size // 4 for b in buffers)
            reach = min(reach, sum(sizes[: LARGEST_PIECES - 1]))
        self.largest_span_words = max(GRAIN_WORDS, min(reach, self.words))
        self._kernels = MemoryKernels(gpu)
        importlib.import_module("numpy")  # its loading must not make the first check long
        self.first_write_words = min(FIRST_WRITE_WORDS, self.largest_span_words)
        made = {
            "write_pattern": wanted.kinds, "check_pattern": wanted.kinds,
            "check_then_write": wanted.marched,
        }  # fmt: skip
        for kernel, kinds in made.items():
            for kind in sorted(kinds):  # now, while no slice is waited for
                self._kernels.pipeline(kernel, kind)
        self._slots = [self._kernels.slot() for _ in range(SLOTS)]
        self._free = list(self._slots)
        self._touch([b.size // 4 for b in buffers])

    def _touch(self, sizes: list[int]) -> None:
        """Write a little into each buffer: at its first use the driver clears and maps it whole,
        which takes longer than a slice may, so it is done before there are slices."""
        first = 0
        for size in sizes:
            self.write(recipe("solid", 0, 1), Span(first, GRAIN_WORDS)).finish()
            first += size

    def _queue(
        self,
        kernel: str,
        expected: Recipe,
        written: Recipe,
        span: Span,
        tiles: Tiles = EVERY_TILE,
        rounds: int = 1,
    ) -> Slot:
        """Submit one kernel over a span; the slot's staging buffer will hold its counts."""
        slot = self._free.pop()
        pieces = self._layout.pieces(span.first, span.words)
        if tiles.descending:
            pieces.reverse()
        packed = b"".join(
            params(piece, span, tiles, expected, written).ljust(ROUND_BYTES, b"\0")
            for piece in pieces
        )
        self._gpu.upload(slot.params, packed)
        encoder = self._gpu.encoder()
        encoder.clear_buffer(slot.counts)
        slot.mark(encoder, 0)
        work = encoder.begin_compute_pass()
        work.set_pipeline(self._kernels.pipeline(kernel, expected.kind))
        for _ in range(rounds):
            for number, piece in enumerate(pieces):
                group = self._kernels.group(slot, piece.buffer, self._buffers[piece.buffer])
                work.set_bind_group(0, group, [number * ROUND_BYTES])
                work.dispatch_workgroups(*workgroups(piece, tiles))
        work.end()
        slot.mark(encoder, 1)
        encoder.copy_buffer_to_buffer(slot.counts, 0, slot.staging, 0, COUNT_BYTES)
        self._gpu.submit(encoder)
        return slot

    def _counts(self, slot: Slot) -> tuple[int, ...]:
        raw = self._gpu.fetch(slot.staging)
        self.kernel_s += slot.seconds(raw)
        return struct.unpack("<64I", raw[:COUNT_BYTES])

    def time_kernels(self) -> bool:
        """Have `kernel_s` counted from now on; False where the card has no clock for it."""
        if CardClock.offered(self._gpu):
            for slot in self._slots:
                slot.clock = CardClock(self._gpu)
        return CardClock.offered(self._gpu)

    def write(self, rule: Recipe, span: Span) -> QueuedCall[None]:
        """Write the words of `rule`."""
        return QueuedCall(partial(self._ended, self._queue("write_pattern", rule, rule, span)))

    def _ended(self, slot: Slot) -> None:
        self._counts(slot)
        self._free.append(slot)

    def check(
        self, rule: Recipe, span: Span, tiles: Tiles = EVERY_TILE
    ) -> QueuedCall[Findings]:
        """Compare with the words of `rule`."""
        slot = self._queue("check_pattern", rule, rule, span, tiles)
        return QueuedCall(partial(self._findings, slot, span))

    def hammer(self, rule: Recipe, span: Span, parity: int, rounds: int) -> QueuedCall[None]:
        """Read the even or odd tiles of the span `rounds` times (the check kernel reads)."""
        slot = self._queue("check_pattern", rule, rule, span, Tiles(parity), rounds)
        return QueuedCall(partial(self._ended, slot))

    def check_then_write(
        self, expected: Recipe, written: Recipe, span: Span, tiles: Tiles
    ) -> QueuedCall[Findings]:
        """Compare with `expected`, then write `written`."""
        slot = self._queue("check_then_write", expected, written, span, tiles)
        return QueuedCall(partial(self._findings, slot, span))

    def tally(self, rule: Recipe, span: Span) -> QueuedCall[Tally]:
        """Compare and count only."""
        return QueuedCall(partial(self._tally, self._queue("tally_pattern", rule, rule, span)))

    def _tally(self, slot: Slot) -> Tally:
        counts = self._counts(slot)
        self._free.append(slot)
        return Tally(counts[0], counts[2:34])

    def _findings(self, slot: Slot, span: Span) -> Findings:
        import numpy as np

        failing, skipped = self._counts(slot)[:2]
        listed = min(failing, LIST_WORDS)
        overflow = failing > LIST_WORDS
        if not listed or overflow:
            entries = np.empty((0, 3), np.uint32)
        else:
            raw = self._gpu.download(slot.listed, 0, listed * ENTRY_BYTES)
            entries = np.frombuffer(raw, np.uint32).reshape(-1, 3)
        left = self._skipped(slot, span) if skipped else ()
        self._free.append(slot)
        low, high, got = entries.T.astype(np.uint64)
        return Findings(low | (high << np.uint64(32)), got.astype(np.uint32), overflow, left)

    def _skipped(self, slot: Slot, span: Span) -> tuple[Span, ...]:
        """Skipped tiles as spans of whole grains' width where they adjoin; clears the marks."""
        import numpy as np

        size = -(-span.words // TILE_WORDS // 32) * 4
        raw = np.frombuffer(self._gpu.download(slot.skipped, 0, size), np.uint8)
        encoder = self._gpu.encoder()
        encoder.clear_buffer(slot.skipped)
        self._gpu.submit(encoder)
        marked = np.flatnonzero(np.unpackbits(raw, bitorder="little"))
        runs = np.split(marked, np.flatnonzero(np.diff(marked) != 1) + 1)
        return tuple(
            Span(span.first + int(run[0]) * TILE_WORDS, len(run) * TILE_WORDS)
            for run in runs if len(run)
        )

    def read(self, first: int, words: int) -> NDArray[np.uint32]:
        """Contents of `words` words from `first` on."""
        import numpy as np

        parts = [
            np.frombuffer(
                self._gpu.download(self._buffers[p.buffer], p.offset * 4, p.words * 4), np.uint32
            )
            for p in self._layout.pieces(first, words)
        ]
        return np.concatenate(parts)

    def overwrite(self, first: int, content: NDArray[np.uint32]) -> None:
        """Replace words from `first` on."""
        import numpy as np

        data = np.ascontiguousarray(content, np.uint32)
        done = 0
        for piece in self._layout.pieces(first, len(data)):
            part = data[done : done + piece.words]
            self._gpu.upload(self._buffers[piece.buffer], part, piece.offset * 4)
            done += piece.words
        self._gpu.submit(self._gpu.encoder())

    def release(self) -> None:
        """Give the memory back."""
        for buffer in self._buffers:
            buffer.destroy()
        for slot in self._slots:
            slot.release()
        self._buffers, self._slots, self._free = [], [], []
