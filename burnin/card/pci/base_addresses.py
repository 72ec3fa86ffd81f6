"""Base address registers: where a card's windows lie in the bench's address space.

The size of a window is not in its register; Linux tells it in ``resource``.
"""

from __future__ import annotations

from dataclasses import dataclass

from burnin.card.pci import registers as reg
from burnin.card.pci.capability_chain import field
from burnin.core.reading import NotMeasured


@dataclass(frozen=True)
class BaseAddress:
    """One base address register; `address` is bus address 0 where nothing is assigned."""

    number: int
    address: int
    io: bool
    bits: int
    prefetchable: bool


def read_base_addresses(data: bytes, count: int) -> tuple[BaseAddress, ...] | NotMeasured:
    """The registers in use among `count` (PCI Local Bus 3.0, 6.2.5.1); a 64-bit one takes two."""
    found: list[BaseAddress] = []
    number = 0
    while number < count:
        low = field(data, reg.BASE_ADDRESS_0 + 4 * number, 4)
        if isinstance(low, NotMeasured):
            return low
        here = number
        number += 1
        if low & reg.BASE_ADDRESS_IO:
            found.append(BaseAddress(here, low & ~0x3, True, 32, False))
            continue
        address, bits = low & ~0xF, 32
        if low & reg.BASE_ADDRESS_TYPE_MASK == reg.BASE_ADDRESS_TYPE_64 and number < count:
            high = field(data, reg.BASE_ADDRESS_0 + 4 * number, 4)
            if isinstance(high, NotMeasured):
                return high
            address, bits = high << 32 | address, 64
            number += 1
        if low or address:
            prefetchable = bool(low & reg.BASE_ADDRESS_PREFETCHABLE)
            found.append(BaseAddress(here, address, False, bits, prefetchable))
    return tuple(found)
