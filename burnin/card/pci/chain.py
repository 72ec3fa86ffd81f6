"""Capability chains of configuration space, walked as they are found in the field.

Blank entries (id 0, as a hypervisor leaves them with a sound pointer behind) are stepped over; a
loop, a pointer out of range, all ones or the end of the readable bytes ends the walk and is named.
"""

from __future__ import annotations

from dataclasses import dataclass

from burnin.card.pci import registers as reg
from burnin.core.reading import NotMeasured

GONE = "the card does not answer: it reads all ones"


@dataclass(frozen=True)
class Capability:
    """One entry of a capability chain; `version` is 0 for a standard (not extended) one."""

    id: int
    version: int
    offset: int
    extended: bool

    @property
    def name(self) -> str:
        """The capability's name, or its number."""
        names = reg.EXTENDED_CAPABILITY_NAMES if self.extended else reg.CAPABILITY_NAMES
        return names.get(self.id, f"0x{self.id:02x}")


@dataclass(frozen=True)
class CapabilityChain:
    """The entries of one chain, blank ones included; `cut` says why the walk ended early."""

    entries: tuple[Capability, ...]
    cut: str = ""

    def find(self, capability_id: int, *, extended: bool) -> int | NotMeasured:
        """Offset of the first entry with this id."""
        for entry in self.entries:
            if entry.id == capability_id:
                return entry.offset
        if self.cut:
            return NotMeasured(self.cut)
        name = Capability(capability_id, 0, 0, extended).name
        blank = sum(1 for entry in self.entries if entry.id == 0)
        hidden = f" ({blank} blank entries: a hypervisor may hide it)" if blank else ""
        return NotMeasured(f"the card shows no {name} capability{hidden}")


def field(data: bytes, offset: int, size_bytes: int) -> int | NotMeasured:
    """The little-endian number of 1, 2 or 4 bytes at `offset`, or why it cannot be read."""
    if offset < 0 or offset + size_bytes > reg.EXTENDED_BYTES:
        return NotMeasured(f"0x{offset:x} lies outside configuration space")
    if offset + size_bytes <= len(data):
        return int.from_bytes(data[offset : offset + size_bytes], "little")
    if not data:
        return NotMeasured("configuration space could not be read")
    # Linux shows 64 bytes without CAP_SYS_ADMIN; 256 where a bench has no access to the rest.
    cause = "without privilege" if len(data) <= reg.HEADER_BYTES else "on this bench"
    return NotMeasured(
        f"only {len(data)} of {reg.EXTENDED_BYTES} bytes are readable {cause}; "
        f"this one lies at 0x{offset:x}"
    )


def standard_chain(data: bytes) -> CapabilityChain:
    """The standard chain: byte pointers from 0x34 (PCI Local Bus 3.0, 6.7)."""
    if data[:2] == b"\xff\xff":
        return CapabilityChain((), GONE)
    status = field(data, reg.STATUS, 2)
    start = field(data, reg.CAPABILITY_LIST, 1)
    if isinstance(status, NotMeasured):
        return CapabilityChain((), status.reason)
    if not status & reg.STATUS_CAPABILITY_LIST:
        return CapabilityChain(())
    if isinstance(start, NotMeasured):
        return CapabilityChain((), start.reason)
    found: list[Capability] = []
    seen: set[int] = set()
    offset = start & ~0x3
    while offset:
        cut = _bad_step(offset, reg.HEADER_BYTES, seen)
        if cut:
            return CapabilityChain(tuple(found), cut)
        entry = field(data, offset + reg.CAP_LIST_ID, 2)
        if isinstance(entry, NotMeasured):
            return CapabilityChain(tuple(found), entry.reason)
        if entry & 0xFF == 0xFF:
            return CapabilityChain(tuple(found), f"the chain reads all ones at 0x{offset:02x}")
        found.append(Capability(entry & 0xFF, 0, offset, extended=False))
        offset = entry >> 8 & ~0x3
    return CapabilityChain(tuple(found))


def extended_chain(data: bytes) -> CapabilityChain:
    """The extended chain from 0x100: id, version and 12-bit pointer in each header.

    A header of all zeros ends it (PCI Express Base 5.0, 7.6.3).
    """
    if data[:2] == b"\xff\xff":
        return CapabilityChain((), GONE)
    found: list[Capability] = []
    seen: set[int] = set()
    offset = reg.EXT_CAP_START
    while offset:
        cut = _bad_step(offset, reg.EXT_CAP_START, seen)
        if cut:
            return CapabilityChain(tuple(found), cut)
        header = field(data, offset, 4)
        if isinstance(header, NotMeasured):
            return CapabilityChain(tuple(found), header.reason)
        if header == 0xFFFFFFFF:
            return CapabilityChain(tuple(found), f"the chain reads all ones at 0x{offset:03x}")
        if header == 0:
            break
        found.append(Capability(header & 0xFFFF, header >> 16 & 0xF, offset, extended=True))
        offset = header >> 20 & 0xFFC
    return CapabilityChain(tuple(found))


def _bad_step(offset: int, lowest: int, seen: set[int]) -> str:
    if offset < lowest:
        return f"the chain points outside itself, to 0x{offset:02x}"
    if offset in seen:
        return f"the chain loops back to 0x{offset:02x}"
    seen.add(offset)
    return ""
