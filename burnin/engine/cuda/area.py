"""Memory under test through CUDA. See `burnin.engine.device.area.Area`."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any, TypeVar

from burnin.engine.cuda.card import CudaCard, PinnedWords
from burnin.engine.cuda.memory_kernels import COUNT_WORDS, FoundBuffers, MemoryKernels
from burnin.engine.device.area import EVERY_TILE, TILE_WORDS, Findings, Span, Tally, Tiles
from burnin.engine.device.layout import Layout
from burnin.engine.device.queued import QueuedCall
from burnin.engine.device.recipes import Recipe

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

T = TypeVar("T")

LIST_WORDS = 1 << 20
SPAN_TILES = 1 << 22
"""Tiles in the longest slice (16 GiB): one bit each marks a tile that was skipped."""
FIRST_WRITE_WORDS = 1 << 24
"""64 MiB."""
SLOTS = 4


@dataclass
class _Slot:
    """What one queued slice needs beside the memory under test."""

    found: FoundBuffers
    counts: PinnedWords


class CudaArea:
    """The test area of one job; `pointers` are card addresses of buffers of `sizes` words."""

    list_words = LIST_WORDS

    def __init__(self, card: CudaCard, pointers: list[int], sizes: list[int]) -> None:
        self._card = card
        self._pointers = pointers
        self._layout = Layout(sizes)
        self.words = self._layout.words
        self.buffers = len(pointers)
        # counts are 32-bit
        self.largest_span_words = min(SPAN_TILES * TILE_WORDS, self.words, 0xFFFFF800)
        self.first_write_words = FIRST_WRITE_WORDS
        self._kernels = MemoryKernels(card)
        card.kernel("memory", "read_only")  # compiles them all now, while no slice is waited for
        self._slots = [
            _Slot(FoundBuffers(card, LIST_WORDS, SPAN_TILES), PinnedWords(card, COUNT_WORDS * 4))
            for _ in range(SLOTS)
        ]
        self._free = list(self._slots)

    def _queue(
        self,
        kernel: str,
        expected: Recipe,
        written: Recipe,
        span: Span,
        tiles: Tiles = EVERY_TILE,
        rounds: int = 1,
    ) -> tuple[_Slot, Any]:
        slot = self._free.pop()
        card, found = self._card, slot.found
        card.clear(found.counts, COUNT_WORDS * 4)
        pieces = self._layout.pieces(span.first, span.words)
        if tiles.descending:
            pieces.reverse()
        for _ in range(rounds):
            for piece in pieces:
                self._kernels.queue(
                    kernel, self._pointers[piece.buffer] + piece.offset * 4, piece.first,
                    piece.words, expected, written, found, tiles=tiles,
                    marked_from=(piece.first - span.first) // TILE_WORDS,
                )
        card.copy(slot.counts.pointer, found.counts, COUNT_WORDS * 4)
        return slot, card.event()

    def _counts(self, slot: _Slot, event: Any) -> list[int]:
        self._card.wait(event)
        return [int(value) for value in slot.counts.words]

    def _call(
        self, finish: Callable[..., T], queued: tuple[_Slot, Any], *more: Any
    ) -> QueuedCall[T]:
        come = partial(self._card.has_come, queued[1])
        return QueuedCall(partial(finish, *queued, *more), come)

    def write(self, rule: Recipe, span: Span) -> QueuedCall[None]:
        """Write the words of `rule`."""
        return self._call(self._ended, self._queue("write_pattern", rule, rule, span))

    def _ended(self, slot: _Slot, event: Any) -> None:
        self._card.wait(event)
        self._free.append(slot)

    def check(self, rule: Recipe, span: Span, tiles: Tiles = EVERY_TILE) -> QueuedCall[Findings]:
        """Compare with the words of `rule`."""
        queued = self._queue("check_pattern", rule, rule, span, tiles)
        return self._call(self._findings, queued, span)

    def hammer(self, rule: Recipe, span: Span, parity: int, rounds: int) -> QueuedCall[None]:
        """Read the even or odd tiles of the span `rounds` times (the check kernel reads)."""
        queued = self._queue("check_pattern", rule, rule, span, Tiles(parity), rounds)
        return self._call(self._ended, queued)

    def check_then_write(
        self, expected: Recipe, written: Recipe, span: Span, tiles: Tiles
    ) -> QueuedCall[Findings]:
        """Compare with `expected`, then write `written`."""
        queued = self._queue("check_then_write", expected, written, span, tiles)
        return self._call(self._findings, queued, span)

    def tally(self, rule: Recipe, span: Span) -> QueuedCall[Tally]:
        """Compare and count only."""
        return self._call(self._tally, self._queue("tally_pattern", rule, rule, span))

    def _tally(self, slot: _Slot, event: Any) -> Tally:
        counts = self._counts(slot, event)
        self._free.append(slot)
        return Tally(counts[0], tuple(counts[2:34]))

    def _findings(self, slot: _Slot, event: Any, span: Span) -> Findings:
        import numpy as np

        failing, skipped = self._counts(slot, event)[:2]
        overflow = failing > LIST_WORDS
        listed = 0 if overflow else failing
        entries = np.empty((0, 2), np.uint64)
        if listed:
            raw = self._card.fetch(slot.found.listed, listed * 4)
            entries = raw.view(np.uint64).reshape(-1, 2)
        left = self._skipped(slot, span) if skipped else ()
        self._free.append(slot)
        return Findings(entries[:, 0].copy(), entries[:, 1].astype(np.uint32), overflow, left)

    def _skipped(self, slot: _Slot, span: Span) -> tuple[Span, ...]:
        """Skipped tiles, as spans where they adjoin; clears the marks."""
        import numpy as np

        words = -(-span.words // TILE_WORDS // 32)
        marks = self._card.fetch(slot.found.marks, words)
        self._card.clear(slot.found.marks, words * 4)
        marked = np.flatnonzero(np.unpackbits(marks.view(np.uint8), bitorder="little"))
        runs = np.split(marked, np.flatnonzero(np.diff(marked) != 1) + 1)
        return tuple(
            Span(span.first + int(run[0]) * TILE_WORDS, len(run) * TILE_WORDS)
            for run in runs if len(run)
        )

    def read(self, first: int, words: int) -> NDArray[np.uint32]:
        """Contents of `words` words from `first` on."""
        import numpy as np

        return np.concatenate([
            self._card.fetch(self._pointers[p.buffer] + p.offset * 4, p.words)
            for p in self._layout.pieces(first, words)
        ])

    def overwrite(self, first: int, content: NDArray[np.uint32]) -> None:
        """Replace words from `first` on."""
        import numpy as np

        data = np.ascontiguousarray(content, np.uint32)
        done = 0
        for piece in self._layout.pieces(first, len(data)):
            part = data[done : done + piece.words]
            self._card.send(self._pointers[piece.buffer] + piece.offset * 4, part)
            done += piece.words

    def release(self) -> None:
        """Give the memory back."""
        for pointer in self._pointers:
            self._card.free(pointer)
        for slot in self._slots:
            slot.found.release()
        self._pointers, self._slots, self._free = [], [], []
