"""A test area in this process's memory, whose tiles are treated in the order that kernels keep.

Cells may be coupled over the whole area, so that the order of slices, parities and tiles shows in
what a march finds. It answers `burnin.engine.device.area.Area`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from burnin.engine.device.area import (
    EVERY_TILE,
    TILE_WORDS,
    AreaFound,
    AreaWanted,
    Findings,
    Span,
    Tally,
    Tiles,
)
from burnin.engine.device.layout import tile_order
from burnin.engine.device.queued import QueuedCall
from burnin.engine.device.recipes import Recipe, words_of

Words = NDArray[np.uint32]


@dataclass(frozen=True)
class Coupling:
    """A cell that sets another one where it rises from 0 to 1 (idempotent coupling, van de Goor).

    Both are bit `bit` of the words at these places.
    """

    aggressor: int
    victim: int
    bit: int = 9


class AreaInMemory:
    """So many words, in slices of at most `largest_span_words`."""

    buffers = 1

    def __init__(
        self,
        words: int,
        largest_span_words: int,
        coupling: Coupling | None = None,
        list_words: int = 4096,
    ) -> None:
        self.words, self.largest_span_words = words, largest_span_words
        self.first_write_words = largest_span_words
        self.list_words = list_words
        self.held: Words = np.full(words, 0xDEADBEEF, np.uint32)
        self._coupling = coupling
        self.hammered: list[tuple[int, int, int, int]] = []
        """First word, words, parity and rounds of each slice of hammering."""
        self.slices: list[tuple[str, int, int]] = []
        """Kind, first word and words of each slice."""

    def _addresses(self, first: int, count: int) -> NDArray[np.uint64]:
        return np.arange(first, first + count, dtype=np.uint64)

    def _tiles(self, span: Span, tiles: Tiles) -> list[int]:
        """First words of the tiles, in the order in which they are treated."""
        count = span.words // TILE_WORDS
        first, step, many = tile_order(span.first // TILE_WORDS, count, tiles)
        return [span.first + (first + n * step) * TILE_WORDS for n in range(many)]

    def _put(self, first: int, content: Words) -> None:
        there = self.held[first : first + len(content)]
        rises = ~there & content
        there[:] = content
        couple = self._coupling
        if couple is None or not first <= couple.aggressor < first + len(content):
            return
        if int(rises[couple.aggressor - first]) >> couple.bit & 1:
            self.held[couple.victim] |= np.uint32(1 << couple.bit)

    def write(self, rule: Recipe, span: Span) -> QueuedCall[None]:
        self.slices.append(("write", span.first, span.words))
        for first in self._tiles(span, EVERY_TILE):
            self._put(first, words_of(rule, self._addresses(first, TILE_WORDS)))
        return QueuedCall(lambda: None)

    def check(
        self, rule: Recipe, span: Span, tiles: Tiles = EVERY_TILE
    ) -> QueuedCall[Findings]:
        self.slices.append(("check", span.first, span.words))
        return self._findings(self._wrong(rule, self._tiles(span, tiles)))

    def check_then_write(
        self, expected: Recipe, written: Recipe, span: Span, tiles: Tiles
    ) -> QueuedCall[Findings]:
        self.slices.append(("march", span.first, span.words))
        wrong: list[tuple[int, int]] = []
        left: list[Span] = []
        for first in self._tiles(span, tiles):
            found = self._wrong(expected, [first])
            if len(wrong) + len(found) > self.list_words:
                left.append(Span(first, TILE_WORDS))  # read, and for want of room left as it was
                continue
            wrong += found
            self._put(first, words_of(written, self._addresses(first, TILE_WORDS)))
        return self._findings(wrong, tuple(left))

    def _wrong(self, rule: Recipe, firsts: list[int]) -> list[tuple[int, int]]:
        found: list[tuple[int, int]] = []
        for first in firsts:
            got = self.held[first : first + TILE_WORDS]
            wrong = np.flatnonzero(got != words_of(rule, self._addresses(first, TILE_WORDS)))
            found += [(first + int(at), int(got[at])) for at in wrong]
        return found

    def _findings(
        self, wrong: list[tuple[int, int]], left: tuple[Span, ...] = ()
    ) -> QueuedCall[Findings]:
        overflow = len(wrong) > self.list_words
        listed = [] if overflow else wrong
        found = Findings(
            np.array([at for at, _ in listed], np.uint64),
            np.array([got for _, got in listed], np.uint32),
            overflow,
            left,
        )
        return QueuedCall(lambda: found)

    def tally(self, rule: Recipe, span: Span) -> QueuedCall[Tally]:
        addresses = self._addresses(span.first, span.words)
        flipped = self.held[span.first : span.first + span.words] ^ words_of(rule, addresses)
        bits = tuple(int(np.count_nonzero(flipped & np.uint32(1 << n))) for n in range(32))
        found = Tally(int(np.count_nonzero(flipped)), bits)
        return QueuedCall(lambda: found)

    def hammer(  # nothing here is disturbed by reading
        self,
        rule: Recipe,  # noqa: ARG002
        span: Span,
        parity: int,
        rounds: int,
    ) -> QueuedCall[None]:
        self.hammered.append((span.first, span.words, parity, rounds))
        return QueuedCall(lambda: None)

    def read(self, first: int, words: int) -> Words:
        return self.held[first : first + words].copy()

    def overwrite(self, first: int, content: Words) -> None:
        self.held[first : first + len(content)] = content

    def release(self) -> None:
        pass


class DeviceInMemory:
    """Gives one area, whatever is asked for."""

    def __init__(self, area: AreaInMemory) -> None:
        self._area = area

    def take_area(self, wanted: AreaWanted) -> AreaFound:  # noqa: ARG002
        return AreaFound(self._area, self._area.words * 4, self._area.words * 4)
