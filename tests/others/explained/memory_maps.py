"""Address maps: how byte addresses fall on chips, banks, rows and columns.

A chip has 32 data lines: a 32-bit word at a multiple of 4 lies in one chip, bit i on its line i.
Chips are chosen by parities of address bits (channel hashes), by the remainder of a stripe's
number, or by both (12 chips: a remainder of 3 and two parities). Within the chip the address is
local: low bits and some above are columns, then banks (each a local bit, mostly XORed with row
bits), the rest rows. Such maps are known of desktop controllers; these are drawn, none is a card's.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Rng = np.random.Generator
Words = NDArray[np.uint64]
PAGE_BYTES = 2 * 1024 * 1024
BANK_BITS = 4


def parity(values: Words, mask: int) -> Words:
    """Parity of the masked bits of each value, 0 or 1."""
    found = values & np.uint64(mask)
    for shift in (32, 16, 8, 4, 2, 1):
        found = found ^ (found >> np.uint64(shift))
    return found & np.uint64(1)


@dataclass(frozen=True)
class AddressMap:
    """One card's map.

    `channel_masks` over the address (after the remainder was taken out where `modulus` is over 1),
    each with a pivot bit of its own; `bank_masks` over the local address; `column_bits` and
    `row_bits` are bits of the local address, lowest first.
    """

    chips: int
    chip_bytes: int
    modulus: int
    stripe_bytes: int
    channel_masks: tuple[int, ...]
    pivots: tuple[int, ...]
    column_bits: tuple[int, ...]
    bank_pivots: tuple[int, ...]
    bank_masks: tuple[int, ...]
    row_bits: tuple[int, ...]

    @property
    def size_bytes(self) -> int:
        """All of the memory."""
        return self.chips * self.chip_bytes

    def split(self, address: Words) -> tuple[Words, Words]:
        """Chip and local address of byte addresses."""
        stripe = np.uint64(self.stripe_bytes)
        modulus = np.uint64(self.modulus)
        remainder = (address // stripe) % modulus
        rest = (address // stripe) // modulus * stripe + address % stripe
        chip = np.zeros_like(rest)
        for at, mask in enumerate(self.channel_masks):
            chip |= parity(rest, mask) << np.uint64(at)
        return chip * modulus + remainder, self._without_pivots(rest)

    def join(self, chip: Words, local: Words) -> Words:
        """Byte addresses of chips and local addresses; the inverse of `split`."""
        stripe, modulus = np.uint64(self.stripe_bytes), np.uint64(self.modulus)
        remainder, channel = chip % modulus, chip // modulus
        rest = self._with_gaps(local)
        for at, (mask, pivot) in enumerate(zip(self.channel_masks, self.pivots, strict=True)):
            bit = parity(rest, mask) ^ ((channel >> np.uint64(at)) & np.uint64(1))
            rest |= bit << np.uint64(pivot)
        return (rest // stripe * modulus + remainder) * stripe + rest % stripe

    def bank(self, local: Words) -> Words:
        """Bank numbers of local addresses."""
        found = np.zeros_like(local)
        for at, mask in enumerate(self.bank_masks):
            found |= parity(local, mask) << np.uint64(at)
        return found

    def with_bank(self, local: Words, bank: Words) -> Words:
        """The local addresses with their bank made those, rows and columns as they are."""
        for at, (mask, pivot) in enumerate(zip(self.bank_masks, self.bank_pivots, strict=True)):
            wrong = parity(local, mask) ^ (bank >> np.uint64(at) & np.uint64(1))
            local = local ^ (wrong << np.uint64(pivot))
        return local

    def _without_pivots(self, rest: Words) -> Words:
        for pivot in sorted(self.pivots, reverse=True):
            low = rest & np.uint64((1 << pivot) - 1)
            rest = (rest >> np.uint64(pivot + 1) << np.uint64(pivot)) | low
        return rest

    def _with_gaps(self, local: Words) -> Words:
        for pivot in sorted(self.pivots):
            low = local & np.uint64((1 << pivot) - 1)
            local = (local >> np.uint64(pivot) << np.uint64(pivot + 1)) | low
        return local


def global_mask(card: AddressMap, local_mask: int) -> int:
    """A mask over the local address as one over the address before pivots were taken out."""
    one = np.array([local_mask], dtype=np.uint64)
    return int(card._with_gaps(one)[0])


def _channels(rng: Rng, count: int, stripe_bit: int, top_bit: int) -> tuple[list[int], list[int]]:
    """Masks and pivots of parities: plain low bits, or with a random choice of bits above."""
    pivots = [stripe_bit + at for at in range(count)]
    plain = rng.random() < 0.25
    masks = []
    for pivot in pivots:
        others = [bit for bit in range(stripe_bit, top_bit) if bit not in pivots]
        rank = 0 if plain else int(rng.integers(0, min(8, len(others)) + 1))
        chosen = [int(bit) for bit in rng.choice(others, rank, replace=False)] if others else []
        masks.append(1 << pivot | sum(1 << bit for bit in chosen))
    return masks, pivots


def draw_map(rng: Rng) -> AddressMap:
    """A map of 6 to 16 chips of 512 MiB to 2 GiB."""
    chips = int(rng.choice([6, 8, 10, 12, 16]))
    chip_bit = int(rng.choice([29, 30, 31]))
    stripe_bit = int(rng.integers(8, 13))
    modulus, channel_bits = {6: (6, 0), 8: (1, 3), 10: (10, 0), 12: (12, 0), 16: (1, 4)}[chips]
    if chips == 12 and rng.random() < 0.25:
        modulus, channel_bits = 3, 2
    masks, pivots = _channels(rng, channel_bits, stripe_bit, chip_bit + channel_bits)
    column_top = int(rng.integers(11, 13))
    bank_pivots = tuple(range(column_top, column_top + BANK_BITS))
    row_bits = tuple(range(column_top + BANK_BITS, chip_bit))
    hashed = rng.random() < 0.75
    bank_masks = []
    for pivot in bank_pivots:
        rank = int(rng.integers(1, 5)) if hashed else 0
        chosen = [int(bit) for bit in rng.choice(row_bits, rank, replace=False)]
        bank_masks.append(1 << pivot | sum(1 << bit for bit in chosen))
    return AddressMap(
        chips, 1 << chip_bit, modulus, 1 << stripe_bit, tuple(masks), tuple(pivots),
        tuple(range(2, column_top)), bank_pivots, tuple(bank_masks), row_bits,
    )  # fmt: skip


def draw_pages(size_bytes: int, rng: Rng) -> NDArray[np.int64]:
    """Which page of the memory each page of addresses lies on, in any order."""
    return rng.permutation(size_bytes // PAGE_BYTES)
