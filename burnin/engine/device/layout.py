"""One address range over many buffers."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from burnin.engine.device.area import GRAIN_WORDS, Span, Tiles


@dataclass(frozen=True)
class Piece:
    """The part of a span that lies in one buffer: from word `offset` of it, `words` words."""

    buffer: int
    offset: int
    words: int
    first: int


class Layout:
    """Buffers of `sizes` words each, one after the other; every size a multiple of GRAIN_WORDS."""

    def __init__(self, sizes: Sequence[int]) -> None:
        if any(size <= 0 or size % GRAIN_WORDS for size in sizes):
            raise ValueError(f"buffer sizes must be multiples of {GRAIN_WORDS} words: {sizes}")
        self._starts = [0]
        for size in sizes:
            self._starts.append(self._starts[-1] + size)

    @property
    def words(self) -> int:
        """Words of all buffers."""
        return self._starts[-1]

    def pieces(self, first: int, words: int) -> list[Piece]:
        """The span cut at the buffers' ends, in ascending order."""
        if first < 0 or words < 0 or first + words > self.words:
            raise ValueError(f"words {first} to {first + words} are outside 0 to {self.words}")
        found: list[Piece] = []
        while words > 0:
            buffer = bisect_right(self._starts, first) - 1
            here = min(words, self._starts[buffer + 1] - first)
            found.append(Piece(buffer, first - self._starts[buffer], here, first))
            first, words = first + here, words - here
        return found


def spans(words: int, size: int, *, descending: bool = False, start: int = 0) -> list[Span]:
    """Cut `words` words from `start` on into spans of at most `size` words, in the order asked."""
    size = max(GRAIN_WORDS, size // GRAIN_WORDS * GRAIN_WORDS)
    cut = [
        Span(start + at, min(size, words - at)) for at in range(0, words, size)
    ]
    return cut[::-1] if descending else cut


def halves(span: Span) -> tuple[Span, Span]:
    """A span of at least two grains in two parts."""
    grains = span.words // GRAIN_WORDS
    lower = grains // 2 * GRAIN_WORDS
    return Span(span.first, lower), Span(span.first + lower, span.words - lower)


def tile_order(tile: int, count: int, tiles: Tiles) -> tuple[int, int, int]:
    """(first, step, how many) of the tiles to treat in `count` tiles, the first at area tile
    `tile`; all counted from that first one."""
    if tiles.parity is None:
        first, step, many = 0, 1, count
    else:
        first = (tiles.parity - tile) % 2
        step, many = 2, len(range(first, count, 2))
    if tiles.descending:
        first, step = first + (many - 1) * step, -step
    return first, step, many
