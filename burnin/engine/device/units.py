"""What works beside memory: the load, results that repeat, copies over the link."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Protocol, runtime_checkable

from burnin.core.meaning import Reason, Term
from burnin.engine.device.queued import Queued


class ArithmeticUnit(Protocol):
    """A kernel that keeps the arithmetic units busy; the amount of work is `rounds`."""

    operations_per_round: float
    title: Term

    def work(self, rounds: int) -> Queued[None]:
        """Queue `rounds` rounds."""
        ...

    def release(self) -> None:
        """Give its memory back."""
        ...


@runtime_checkable
class OffersMixes(Protocol):
    """An arithmetic unit that can work several mixes, the first unless told; power differs."""

    mixes: int

    def use(self, mix: int) -> None:
        """Work this one from the next slice on; `operations_per_round` follows."""
        ...


@runtime_checkable
class ComparesResults(Protocol):
    """An arithmetic unit whose results are compared while it loads the card."""

    wrong_results: int
    """Results that were not what the same work gave at first, in all slices that are done."""


@dataclass(frozen=True)
class Differences:
    """Results that differ from the first repeat's: how many, and the first few of them.

    `examples`: (index, expected, got), at most 64. `places` has a bit for each of the card's
    processors that did some of the work; 0 where the API does not tell.
    """

    count: int
    examples: tuple[tuple[int, int, int], ...] = ()
    places: int = 0


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
class UnitsFound:
    """The units that an API offers on this card, and by name why others are not offered.

    `not_made`: why a unit that the card should have could not be worked. `processors`: how many
    the card has, where its API tells; 0 where not.
    """

    units: tuple[ComputeUnit, ...]
    not_offered: Mapping[str, Reason] = field(default_factory=dict)
    processors: int = 0
    not_made: Mapping[str, Reason] = field(default_factory=dict)


@dataclass(frozen=True)
class Moved:
    """What one slice of copies moved each way, in how many seconds, and what arrived wrong."""

    to_card_bytes: int
    to_host_bytes: int
    seconds: float
    wrong_words: int


class Copier(Protocol):
    """Copies between host and card, verified."""

    blocks: Term
    """How large the blocks are, and how they lie in the bench's memory."""
    block_bytes: int
    largest_blocks: int
    """Blocks that one slice can copy."""

    def copy(self, blocks: int) -> Queued[Moved]:
        """Copy `blocks` blocks each way that the traffic has."""
        ...

    def release(self) -> None:
        """Give its memory back."""
        ...
