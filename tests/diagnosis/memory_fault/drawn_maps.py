"""Address maps of invented cards, drawn at random: how an address falls to channel, bank, row."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from burnin.diagnosis.memory_fault import gf2

Words = NDArray[np.uint64]
PAGE_BYTES = 2 << 20


@dataclass(frozen=True)
class Fields:
    """Where the parts of an address within a channel lie, as numbers of address bits."""

    column: tuple[int, ...]
    bank: tuple[int, ...]
    row: tuple[int, ...]


@dataclass(frozen=True)
class DrawnMap:
    """A map of `swept_bytes`: parities for channel and bank, or a remainder for the channel.

    Each mask holds one base bit of its own and others that are no base bits. Where there is a
    remainder, bank masks are over the address within the channel. `order`: physical page of each
    page that the test saw, empty where they lie in their order.
    """

    swept_bytes: int
    channel: tuple[int, ...]
    bank: tuple[int, ...]
    fields: Fields
    stripe_bytes: int
    modulus: int = 1
    order: NDArray[np.int64] = field(default_factory=lambda: np.zeros(0, np.int64))

    @property
    def bases(self) -> tuple[int, ...]:
        return tuple((mask & -mask).bit_length() - 1 for mask in (*self.channel, *self.bank))

    @property
    def local_bits(self) -> int:
        """Bits of an address that the masks speak of."""
        return (self.swept_bytes // self.modulus - 1).bit_length()

    def place(self, local: Words, wanted: int, masks: tuple[int, ...], rest: int) -> Words:
        """Local addresses with their base bits set so that mask n has bit n of `wanted`."""
        found = local.copy()
        for number, mask in enumerate(masks):
            base = mask & -mask
            found &= np.uint64(~base & (1 << 63) - 1)
            odd = np.bitwise_count(found & np.uint64(mask)) & np.uint8(1)
            turn = odd != (wanted >> number & 1)
            found |= np.where(turn, np.uint64(base), np.uint64(0))
        return self.whole(found, rest)

    def whole(self, local: Words, rest: int) -> Words:
        """Physical addresses of local ones in the channel of remainder `rest`."""
        if self.modulus == 1:
            return local
        stripe = np.uint64(self.stripe_bytes)
        return (local // stripe * np.uint64(self.modulus) + np.uint64(rest)) * stripe + (
            local % stripe
        )

    def seen(self, physical: Words) -> Words:
        """Addresses as the test saw them."""
        if not len(self.order):
            return physical
        page = np.argsort(self.order)[(physical // np.uint64(PAGE_BYTES)).astype(np.int64)]
        return page.astype(np.uint64) * np.uint64(PAGE_BYTES) + physical % np.uint64(PAGE_BYTES)


def drawn_map(random: np.random.Generator) -> DrawnMap:
    """A card of 6 to 16 channels, 64 MiB to 24 GiB, pages in order or not."""
    kind = random.choice(["plain", "hash", "hash", "remainder", "remainder"])
    mib = int(random.choice([512, 2048, 6144, 8192, 11264, 16384, 24576]))
    pages = max(32, int(mib * random.choice([1.0, 0.97, 0.9])) // 2)
    swept = pages * PAGE_BYTES
    order = random.permutation(pages) if random.random() < 0.25 else np.zeros(0, np.int64)
    modulus, channels = 1, int(random.choice([3, 4]))
    stripe_bit = int(random.integers(8, 13))
    if kind == "remainder":
        modulus, channels = int(random.choice([3, 5, 6, 6, 10, 10, 12, 12, 14, 15])), 0
    bits = (swept // modulus - 1).bit_length()
    channel_bits = tuple(range(stripe_bit, stripe_bit + channels))
    column_above = int(random.integers(0, 4))
    at = stripe_bit + channels
    column = (*range(2, stripe_bit), *range(at, at + column_above))
    at += column_above
    bank_bits = tuple(range(at, at + int(random.choice([3, 4, 4, 5]))))
    row = tuple(range(bank_bits[-1] + 1, bits))
    hashed = kind != "plain" and (kind == "hash" or random.random() < 0.5)
    others = (*column[-column_above:], *row) if column_above else row

    def mask(base: int) -> int:
        most = len(row) if random.random() < 0.3 else 6
        several = int(random.integers(0, min(len(others), most) + 1)) if hashed else 0
        above = [b for b in others if b > base]
        several = min(several, len(above))
        return 1 << base | sum(1 << int(b) for b in random.choice(above, several, replace=False))

    return DrawnMap(
        swept,
        tuple(mask(b) for b in channel_bits),
        tuple(mask(b) for b in bank_bits),
        Fields(column, bank_bits, row),
        1 << stripe_bit,
        modulus,
        order,
    )


def below(masks: tuple[int, ...], end_bit: int) -> tuple[int, ...]:
    """A basis of what masks say of the bits below `end_bit`, whatever the others are."""
    return tuple(gf2.reduced(mask & (1 << end_bit) - 1 for mask in masks).values())


def only_below(masks: tuple[int, ...], end_bit: int) -> tuple[int, ...]:
    """A basis of the combinations of masks that have no bit from `end_bit` on."""
    rows = gf2.reduced(masks)
    return tuple(row for row in rows.values() if row < 1 << end_bit)
