"""Memory under test: its words, the spans that a slice treats, and what checks find in it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from burnin.core.errors import ReasonedError
from burnin.engine.device.queued import Queued
from burnin.engine.device.recipes import Recipe, RecipeKind

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

TILE_WORDS = 1024
"""Words in a tile (4 KiB): the kernels treat whole tiles."""
GRAIN_WORDS = 2 * TILE_WORDS
"""Spans and areas are multiples of two tiles, so that even and odd tiles are equally many."""


class OutOfCardMemory(ReasonedError):
    """The card has no more memory to give."""


@dataclass(frozen=True)
class Span:
    """A stretch of the test area: first word and how many, both multiples of GRAIN_WORDS."""

    first: int
    words: int


@dataclass(frozen=True)
class Tiles:
    """Which tiles of a span a pass treats, and in what order.

    `parity` 0 or 1: only even or odd tiles; None: all. `descending`: last tile first.
    """

    parity: int | None = None
    descending: bool = False


EVERY_TILE = Tiles()


@dataclass(frozen=True)
class Findings:
    """What a check found: word addresses and contents, shape (n,), of the failing words.

    `overflow`: more failed than the list holds, so the lists are not to be used and the span is
    to be checked in parts. `skipped`: spans that a check-then-write left as they were.
    """

    addresses: NDArray[np.uint64]
    got: NDArray[np.uint32]
    overflow: bool = False
    skipped: tuple[Span, ...] = ()


@dataclass(frozen=True)
class Tally:
    """Count of failing words, and by bit lane."""

    failing: int
    bit_counts: tuple[int, ...]


class Area(Protocol):
    """The memory under test, one address range of 32-bit words however many buffers it takes."""

    words: int
    buffers: int
    list_words: int
    """Failing words that one check can list."""
    largest_span_words: int
    """Words that one slice may span."""
    first_write_words: int
    """The same of the very first write: memory that was never used may also have to be cleared,
    which takes many times the writing."""

    def write(self, rule: Recipe, span: Span) -> Queued[None]:
        """Write the words of `rule`."""
        ...

    def check(self, rule: Recipe, span: Span, tiles: Tiles = EVERY_TILE) -> Queued[Findings]:
        """Compare with the words of `rule`."""
        ...

    def tally(self, rule: Recipe, span: Span) -> Queued[Tally]:
        """Compare and count only: exact however much fails."""
        ...

    def check_then_write(
        self, expected: Recipe, written: Recipe, span: Span, tiles: Tiles
    ) -> Queued[Findings]:
        """Compare with `expected`, then write `written`."""
        ...

    def hammer(self, rule: Recipe, span: Span, parity: int, rounds: int) -> Queued[None]:
        """Read the even or odd tiles of the span `rounds` times."""
        ...

    def read(self, first: int, words: int) -> NDArray[np.uint32]:
        """Contents of `words` words from `first` on; within one buffer's bounds or across."""
        ...

    def overwrite(self, first: int, content: NDArray[np.uint32]) -> None:
        """Replace words from `first` on."""
        ...

    def release(self) -> None:
        """Give the memory back."""
        ...


@dataclass(frozen=True)
class AreaWanted:
    """How much memory to take: `share` of what is free, at most `max_bytes` (0: no cap).

    `free_bytes`: what the card says is free (0: ask the API, or take until it refuses). `kinds` of
    rules are to be written and checked, those of `marched` also in march elements: kernels of
    others are made only where they are used after all.
    """

    share: float
    free_bytes: int = 0
    max_bytes: int = 0
    kinds: frozenset[RecipeKind] = frozenset(RecipeKind)
    marched: frozenset[RecipeKind] = frozenset(RecipeKind)


@dataclass(frozen=True)
class AreaFound:
    """The memory that was taken: the area, free and total bytes (0 where nobody can say)."""

    area: Area
    free_bytes: int
    total_bytes: int
