"""The kernels of memory.wgsl: their pipelines, their parameters, and the buffers of one slice."""

from __future__ import annotations

import struct
from dataclasses import dataclass, field
from typing import Any

from burnin.engine.device.area import TILE_WORDS, Span, Tiles
from burnin.engine.device.layout import Piece, tile_order
from burnin.engine.device.recipes import ONES, Recipe
from burnin.engine.vulkan.card_clock import CardClock
from burnin.engine.vulkan.gpu import ROUND_BYTES, Gpu

LIST_WORDS = 1 << 18
ENTRY_BYTES = 12
SPAN_TILES = 1 << 22
"""Tiles in the longest slice (16 GiB): one bit each marks a tile that was skipped."""
LARGEST_PIECES = 256
"""Buffers that one slice may reach into."""
TILES_PER_GROUP = 8
COUNT_BYTES = 256
STAGING_BYTES = COUNT_BYTES + 256


@dataclass
class Slot:
    """What one queued slice needs beside the memory under test."""

    params: Any
    counts: Any
    listed: Any
    skipped: Any
    staging: Any
    groups: dict[int, Any] = field(default_factory=dict)
    clock: CardClock | None = None

    def mark(self, encoder: Any, number: int) -> None:
        """0: the kernel begins here, 1: it has ended; nothing without a clock."""
        if self.clock is not None:
            self.clock.mark(encoder, number)
            if number:
                self.clock.bring(encoder, self.staging, COUNT_BYTES)

    def seconds(self, raw: bytes) -> float:
        """Seconds between the marks, by what was fetched; 0 without a clock."""
        return self.clock.seconds(raw[COUNT_BYTES:]) if self.clock is not None else 0.0

    def release(self) -> None:
        """Give its memory back."""
        if self.clock is not None:
            self.clock.release()
        for part in (self.params, self.counts, self.listed, self.skipped, self.staging):
            part.destroy()


class MemoryKernels:
    """Pipelines are made when they are first asked for, one a kernel and kind of recipe."""

    def __init__(self, gpu: Gpu) -> None:
        self._gpu = gpu
        self._bindings = gpu.layout(("uniform", "storage", "storage", "storage", "storage"))
        self._module = gpu.module("memory")
        self._pipelines: dict[tuple[str, int], Any] = {}

    def pipeline(self, kernel: str, kind: int) -> Any:
        """The pipeline of one kernel for one kind of recipe."""
        key = (kernel, kind)
        if key not in self._pipelines:
            self._pipelines[key] = self._gpu.pipeline(
                self._module, kernel, self._bindings, {"kind": kind}
            )
        return self._pipelines[key]

    def slot(self) -> Slot:
        """Buffers of one slice."""
        gpu = self._gpu
        return Slot(
            gpu.buffer(LARGEST_PIECES * ROUND_BYTES, "UNIFORM", "COPY_DST"),
            gpu.buffer(COUNT_BYTES, "STORAGE", "COPY_SRC", "COPY_DST"),
            gpu.buffer(LIST_WORDS * ENTRY_BYTES, "STORAGE", "COPY_SRC"),
            gpu.buffer(SPAN_TILES // 8, "STORAGE", "COPY_SRC", "COPY_DST"),
            gpu.buffer(STAGING_BYTES, "MAP_READ", "COPY_DST"),
        )

    def group(self, slot: Slot, number: int, buffer: Any) -> Any:
        """The bind group of a slot with the area's buffer of that number."""
        if number not in slot.groups:
            slot.groups[number] = self._gpu.group(self._bindings, (
                (slot.params, ROUND_BYTES), (buffer, 0),
                (slot.counts, 0), (slot.listed, 0), (slot.skipped, 0),
            ))  # fmt: skip
        return slot.groups[number]


def params(piece: Piece, span: Span, tiles: Tiles, expected: Recipe, written: Recipe) -> bytes:
    """The kernels' `Params`; addresses count from the area's start."""
    first, step, count = tile_order(piece.first // TILE_WORDS, piece.words // TILE_WORDS, tiles)
    return struct.pack(
        "<12I", piece.first & ONES, piece.first >> 32, piece.offset // 4, count, first & ONES,
        step & ONES, (piece.first - span.first) // TILE_WORDS, LIST_WORDS,
        expected.a, expected.b, written.a, written.b,
    )  # fmt: skip


def workgroups(piece: Piece, tiles: Tiles) -> tuple[int, int]:
    """Workgroups in two dimensions, each dimension within the limit of 65,535."""
    count = tile_order(piece.first // TILE_WORDS, piece.words // TILE_WORDS, tiles)[2]
    groups = max(1, -(-count // TILES_PER_GROUP))
    wide = min(groups, 32768)
    return wide, -(-groups // wide)
