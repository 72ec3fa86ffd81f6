"""Memory under test through Vulkan: as many buffers as the API needs, one address range."""

from __future__ import annotations

import importlib
import struct
from dataclasses import dataclass, field
from functools import partial
from typing import TYPE_CHECKING, Any

from burnin.engine.device.device import (
    EVERY_TILE,
    GRAIN_WORDS,
    TILE_WORDS,
    Findings,
    QueuedCall,
    Span,
    Tally,
    Tiles,
)
from burnin.engine.device.layout import Layout, Piece
from burnin.engine.device.patterns import ONES, Recipe, RecipeKind, recipe
from burnin.engine.vulkan.gpu import ROUND_BYTES, Gpu

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

LIST_WORDS = 1 << 18
ENTRY_BYTES = 12
SPAN_TILES = 1 << 22
"""Tiles in the longest slice (16 GiB): one bit each marks a tile that was skipped."""
LARGEST_PIECES = 256
"""Buffers that one slice may reach into."""
TILES_PER_GROUP = 8
SLOTS = 4
COUNT_BYTES = 256
KERNELS = ("write_pattern", "check_pattern", "tally_pattern", "check_then_write")


@dataclass
class _Slot:
    """What one queued slice needs beside the memory under test."""

    params: Any
    counts: Any
    listed: Any
    skipped: Any
    staging: Any
    groups: dict[int, Any] = field(default_factory=dict)


class VulkanArea:
    """The test area of one job. See `burnin.engine.device.device.Area`."""

    list_words = LIST_WORDS

    def __init__(self, gpu: Gpu, buffers: list[Any]) -> None:
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
        self._bindings = gpu.layout(("uniform", "storage", "storage", "storage", "storage"))
        self._module = gpu.module("memory")
        self._pipelines: dict[tuple[str, int], Any] = {}
        importlib.import_module("numpy")  # its loading must not make the first check a long slice
        for kernel in ("write_pattern", "check_pattern", "check_then_write"):
            for kind in RecipeKind:  # compiled now, while no slice is waited for
                self._pipeline(kernel, kind)
        self._slots = [self._slot() for _ in range(SLOTS)]
        self._free = list(self._slots)
        self._touch([b.size // 4 for b in buffers])

    def _touch(self, sizes: list[int]) -> None:
        """Write a little into each buffer: at its first use the driver clears and maps it whole,
        which takes longer than a slice may, so it is done before there are slices."""
        first = 0
        for size in sizes:
            self.write(recipe("solid", 0, 1), Span(first, GRAIN_WORDS)).finish()
            first += size

    def _slot(self) -> _Slot:
        gpu = self._gpu
        return _Slot(
            gpu.buffer(LARGEST_PIECES * ROUND_BYTES, "UNIFORM", "COPY_DST"),
            gpu.buffer(COUNT_BYTES, "STORAGE", "COPY_SRC", "COPY_DST"),
            gpu.buffer(LIST_WORDS * ENTRY_BYTES, "STORAGE", "COPY_SRC"),
            gpu.buffer(SPAN_TILES // 8, "STORAGE", "COPY_SRC", "COPY_DST"),
            gpu.buffer(COUNT_BYTES, "MAP_READ", "COPY_DST"),
        )

    def _pipeline(self, kernel: str, kind: int) -> Any:
        key = (kernel, kind)
        if key not in self._pipelines:
            self._pipelines[key] = self._gpu.pipeline(
                self._module, kernel, self._bindings, {"kind": kind}
            )
        return self._pipelines[key]

    def _group(self, slot: _Slot, buffer: int) -> Any:
        if buffer not in slot.groups:
            slot.groups[buffer] = self._gpu.group(self._bindings, (
                (slot.params, ROUND_BYTES), (self._buffers[buffer], 0),
                (slot.counts, 0), (slot.listed, 0), (slot.skipped, 0),
            ))
        return slot.groups[buffer]

    def _queue(
        self,
        kernel: str,
        expected: Recipe,
        written: Recipe,
        span: Span,
        tiles: Tiles = EVERY_TILE,
        rounds: int = 1,
    ) -> _Slot:
        """Submit one kernel over a span; the slot's staging buffer will hold its counts."""
        slot = self._free.pop()
        pieces = self._layout.pieces(span.first, span.words)
        if tiles.descending:
            pieces.reverse()
        packed = b"".join(
            _params(piece, span, tiles, expected, written).ljust(ROUND_BYTES, b"\0")
            for piece in pieces
        )
        self._gpu.upload(slot.params, packed)
        encoder = self._gpu.encoder()
        encoder.clear_buffer(slot.counts)
        work = encoder.begin_compute_pass()
        work.set_pipeline(self._pipeline(kernel, expected.kind))
        for _ in range(rounds):
            for number, piece in enumerate(pieces):
                work.set_bind_group(0, self._group(slot, piece.buffer), [number * ROUND_BYTES])
                work.dispatch_workgroups(*_groups(_tile_count(piece, tiles)))
        work.end()
        encoder.copy_buffer_to_buffer(slot.counts, 0, slot.staging, 0, COUNT_BYTES)
        self._gpu.submit(encoder)
        return slot

    def _counts(self, slot: _Slot) -> tuple[int, ...]:
        return struct.unpack("<64I", self._gpu.fetch(slot.staging))

    def write(self, rule: Recipe, span: Span) -> QueuedCall[None]:
        """Write the words of `rule`."""
        return QueuedCall(partial(self._ended, self._queue("write_pattern", rule, rule, span)))

    def _ended(self, slot: _Slot) -> None:
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

    def _tally(self, slot: _Slot) -> Tally:
        counts = self._counts(slot)
        self._free.append(slot)
        return Tally(counts[0], counts[2:34])

    def _findings(self, slot: _Slot, span: Span) -> Findings:
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

    def _skipped(self, slot: _Slot, span: Span) -> tuple[Span, ...]:
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
            for part in (slot.params, slot.counts, slot.listed, slot.skipped, slot.staging):
                part.destroy()
        self._buffers, self._slots, self._free = [], [], []


def _tile_count(piece: Piece, tiles: Tiles) -> int:
    whole = piece.words // TILE_WORDS
    if tiles.parity is None:
        return whole
    return len(range(_first_of_parity(piece, tiles.parity), whole, 2))


def _first_of_parity(piece: Piece, parity: int) -> int:
    return (parity - piece.first // TILE_WORDS) % 2


def _params(
    piece: Piece, span: Span, tiles: Tiles, expected: Recipe, written: Recipe
) -> bytes:
    """The kernels' `Params`; addresses count from the area's start."""
    count = _tile_count(piece, tiles)
    step = 1 if tiles.parity is None else 2
    first = 0 if tiles.parity is None else _first_of_parity(piece, tiles.parity)
    if tiles.descending:
        first, step = first + (count - 1) * step, -step
    return struct.pack(
        "<12I", piece.first & ONES, piece.first >> 32, piece.offset // 4, count, first & ONES,
        step & ONES, (piece.first - span.first) // TILE_WORDS, LIST_WORDS,
        expected.a, expected.b, written.a, written.b,
    )


def _groups(tiles: int) -> tuple[int, int]:
    """Workgroups in two dimensions, each dimension within the limit of 65,535."""
    groups = max(1, -(-tiles // TILES_PER_GROUP))
    wide = min(groups, 32768)
    return wide, -(-groups // wide)
