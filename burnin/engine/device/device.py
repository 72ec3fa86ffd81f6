"""What the jobs ask of an API that works a card: memory, arithmetic, results, copies.

Everything that is queued is one slice: it lasts about as long as the job's `SliceSize` expects,
and `finish` waits for it. `finish` raises DeviceLost when the card does not answer any more.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, Protocol, TypeVar

from burnin.engine.device.patterns import Recipe
from burnin.engine.engine import EngineDescription

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

T_co = TypeVar("T_co", covariant=True)
T = TypeVar("T")

TILE_WORDS = 1024
"""Words in a tile (4 KiB): the kernels treat whole tiles."""
GRAIN_WORDS = 2 * TILE_WORDS
"""Spans and areas are multiples of two tiles, so that even and odd tiles are equally many."""


class Queued(Protocol[T_co]):
    """One slice on the card."""

    def finish(self) -> T_co:
        """Wait until it is done; what it found."""
        ...


@dataclass(frozen=True)
class QueuedCall(Generic[T]):
    """A slice that is waited for by calling a function."""

    wait: Callable[[], T]

    def finish(self) -> T:
        """Wait until it is done; what it found."""
        return self.wait()


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

    `free_bytes`: what the card says is free (0: ask the API, or take until it refuses).
    """

    share: float
    free_bytes: int = 0
    max_bytes: int = 0


@dataclass(frozen=True)
class AreaFound:
    """The memory that was taken: the area, free and total bytes (0 where nobody can say)."""

    area: Area
    free_bytes: int
    total_bytes: int


class ArithmeticUnit(Protocol):
    """A kernel that keeps the arithmetic units busy; the amount of work is `rounds`."""

    operations_per_round: float
    title: str

    def work(self, rounds: int) -> Queued[None]:
        """Queue `rounds` rounds."""
        ...

    def release(self) -> None:
        """Give its memory back."""
        ...


@dataclass(frozen=True)
class Differences:
    """Results that differ from the first repeat's: how many, and the first few of them.

    `examples`: (index, expected, got), at most 64.
    """

    count: int
    examples: tuple[tuple[int, int, int], ...] = ()


@dataclass(frozen=True)
class Disturbance:
    """XOR one result with `flip_bits` before it is compared, to prove that the check finds it."""

    index: int
    flip_bits: int


class ComputeUnit(Protocol):
    """One arithmetic unit that computes `results` 32-bit results, the same in every repeat."""

    name: str
    results: int
    operations_per_repeat: float

    def repeat(self, times: int, disturb: Disturbance | None) -> Queued[Differences]:
        """Compute `times` times and compare each with the first repeat; the first sets it."""
        ...

    def reference_failures(self, seed: int) -> int | None:
        """Check the first repeat against the bench's processor or an algebraic identity.

        Failures in the sample, or None where the unit has no reference.
        """
        ...

    def release(self) -> None:
        """Give its memory back."""
        ...


@dataclass(frozen=True)
class Moved:
    """What one slice of copies moved each way, in how many seconds, and what arrived wrong."""

    to_card_bytes: int
    to_host_bytes: int
    seconds: float
    wrong_words: int


class Copier(Protocol):
    """Copies between host and card, verified."""

    title: str
    block_bytes: int
    largest_blocks: int
    """Blocks that one slice can copy."""

    def copy(self, blocks: int) -> Queued[Moved]:
        """Copy `blocks` blocks each way that the traffic has."""
        ...

    def release(self) -> None:
        """Give its memory back."""
        ...


class Device(Protocol):
    """An opened card, or a software adapter."""

    def description(self) -> EngineDescription:
        """What works the card."""
        ...

    def take_area(self, wanted: AreaWanted) -> AreaFound:
        """Take memory to test; raises EngineError when there is too little."""
        ...

    def arithmetic(self) -> ArithmeticUnit:
        """The kernel of the arithmetic load."""
        ...

    def compute_units(self, seed: int) -> Sequence[ComputeUnit]:
        """Every unit whose results can be repeated."""
        ...

    def copier(self, direction: str, seed: int) -> Copier:
        """Copies ``to_card``, ``to_host`` or ``both`` ways."""
        ...

    def close(self) -> None:
        """Let go of the card."""
        ...
