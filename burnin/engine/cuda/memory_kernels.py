"""Launching the kernels of memory.cu."""

from __future__ import annotations

from typing import Any

from burnin.engine.cuda.card import CudaCard
from burnin.engine.device.area import TILE_WORDS, Tiles
from burnin.engine.device.layout import tile_order
from burnin.engine.device.recipes import Recipe

TILES_PER_BLOCK = 8
"""TILES in memory.cu."""
COUNT_WORDS = 64
ENTRY_BYTES = 16


class FoundBuffers:
    """Where a kernel leaves what it found: counts, list and marks on the card."""

    def __init__(self, card: CudaCard, list_words: int, mark_tiles: int) -> None:
        self._card = card
        self.list_words = list_words
        self.mark_bytes = mark_tiles // 8
        self.counts = card.allocate(COUNT_WORDS * 4)
        self.listed = card.allocate(list_words * ENTRY_BYTES)
        self.marks = card.allocate(self.mark_bytes)
        card.clear(self.counts, COUNT_WORDS * 4)
        card.clear(self.marks, self.mark_bytes)

    def release(self) -> None:
        """Give the memory back."""
        for pointer in (self.counts, self.listed, self.marks):
            self._card.free(pointer)


class MemoryKernels:
    """Queues the memory kernels on a stream."""

    def __init__(self, card: CudaCard) -> None:
        self._card = card
        self._kernels: dict[str, Any] = {}

    def queue(
        self,
        kernel: str,
        pointer: int,
        first_word: int,
        words: int,
        expected: Recipe,
        written: Recipe,
        found: FoundBuffers,
        *,
        tiles: Tiles,
        marked_from: int = 0,
        stream: Any = None,
    ) -> None:
        """Treat `words` words at `pointer`, whose word address in the area is `first_word`."""
        import numpy as np

        name = f"{kernel}_{int(expected.kind)}"
        if name not in self._kernels:
            self._kernels[name] = self._card.kernel("memory", name)
        first, step, many = tile_order(first_word // TILE_WORDS, words // TILE_WORDS, tiles)
        if not many:
            return
        wide, word = np.uint64, np.uint32
        arguments = (
            wide(pointer), wide(first_word), wide(many), wide(first), np.int64(step),
            wide(marked_from), wide(found.counts), wide(found.listed), wide(found.marks),
            word(found.list_words), word(expected.a), word(expected.b), word(written.a),
            word(written.b),
        )
        blocks = -(-many // TILES_PER_BLOCK)
        self._card.launch(self._kernels[name], (blocks,), arguments, stream)
