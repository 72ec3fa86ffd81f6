"""What is answered of failing words: classes with probabilities, the rule on addresses, doubts."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from burnin.core.meaning import Note


class FaultClass(StrEnum):
    """What may be wrong with a memory."""

    DATA_LINE = "data_line"
    ADDRESS_LINE = "address_line"
    CHIP = "chip"
    BANK = "bank"
    ROW = "row"
    COLUMN = "column"
    HEAT = "heat"
    SUPPLY = "supply"
    CELLS = "cells"
    ELSE = "something_else"


@dataclass(frozen=True)
class Parity:
    """The parity of `address & mask` is `wanted` (0 or 1) for the share `share` of the words."""

    mask: int
    wanted: int
    share: float

    @property
    def bits(self) -> tuple[int, ...]:
        """Numbers of the address bits in it."""
        return tuple(n for n in range(self.mask.bit_length()) if self.mask >> n & 1)


@dataclass(frozen=True)
class Remainder:
    """``address // stripe_bytes % modulus == remainder`` for the share `share` of the words.

    `remainder` None: it differs from page to page, whose order nobody knows.
    """

    stripe_bytes: int
    modulus: int
    remainder: int | None
    share: float


@dataclass(frozen=True)
class AddressRule:
    """What separates failing from sound addresses: all of it holds for a failing word.

    `parities`: over the byte address; where there is a `remainder`, over the address within the
    channel, ``address // (stripe_bytes * modulus) * stripe_bytes + address % stripe_bytes``.
    `within_pages`: masks over the bits below `page_bytes` whose parity is the same for all words
    of one page, and differs from page to page as the driver laid them.
    `window_bytes`: first and last failing address where all lie close together.
    `significance_bits`: base-2 logarithm of how much more often words under this rule come about
    than uniform ones, less what it costs to have looked for the rule; above 10 it is no chance.
    """

    parities: tuple[Parity, ...] = ()
    remainder: Remainder | None = None
    within_pages: tuple[int, ...] = ()
    page_bytes: int | None = None
    window_bytes: tuple[int, int] | None = None
    significance_bits: float = 0.0

    @property
    def one_of(self) -> int:
        """By parities and remainder the words lie in one of so many parts of the memory."""
        modulus = self.remainder.modulus if self.remainder else 1
        if self.within_pages:
            return modulus << len(self.within_pages)
        return modulus << len(self.parities)


@dataclass(frozen=True)
class ClassChance:
    """A class of fault with its probability."""

    fault: FaultClass
    probability: float


@dataclass(frozen=True)
class MemoryAnswer:
    """What explains failing words: classes, most probable first, whose probabilities sum to 1.

    `affected_bits`: data bits (0 to 31) that flip in at least one explained word in fifty.
    `alias_masks`: by which address bits (byte address) words were mistaken for others, most often
    first. `warm`: whether words failed only when the memory was warm (None: not known).
    `explained` and `left_over` count listed words; `left` explains those left over, where they are
    many. `unknown`: what cannot be known from these words.
    """

    chances: tuple[ClassChance, ...]
    rule: AddressRule
    affected_bits: tuple[int, ...]
    alias_masks: tuple[int, ...]
    warm: bool | None
    explained: int
    left_over: int
    places: int
    first_address_bytes: int
    unknown: tuple[Note, ...] = ()
    left: MemoryAnswer | None = None

    @property
    def first(self) -> ClassChance:
        """The most probable class."""
        return self.chances[0]
