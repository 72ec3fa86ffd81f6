"""Capability chains of configuration space, walked as they are found in the field.

Blank entries (id 0, as a hypervisor leaves them with a sound pointer behind) are stepped over; a
loop, a pointer out of range, all ones or the end of the readable bytes ends the walk and is named.
"""

from __future__ import annotations

from dataclasses import dataclass

from burnin.card.pci import registers as reg
from burnin.card.pci.reasons import ConfigReason
from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured


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
    cut: Reason | None = None

    def find(self, capability_id: int, *, extended: bool) -> int | NotMeasured:
        """Offset of the first entry with this id."""
        for entry in self.entries:
            if entry.id == capability_id:
                return entry.offset
        if self.cut is not None:
            return NotMeasured(self.cut)
        name = Capability(capability_id, 0, 0, extended).name
        blank = sum(1 for entry in self.entries if entry.id == 0)
        if blank:
            hidden = ConfigReason.CAPABILITY_HIDDEN(capability=name, blank_entries=blank)
            return NotMeasured(hidden)
        return NotMeasured(ConfigReason.NO_CAPABILITY(capability=name))


def field(data: bytes, offset: int, size_bytes: int) -> int | NotMeasured:
    """The little-endian number of 1, 2 or 4 bytes at `offset`, or why it cannot be read."""
    if offset < 0 or offset + size_bytes > reg.EXTENDED_BYTES:
        return NotMeasured(ConfigReason.OUTSIDE(offset=offset))
    if offset + size_bytes <= len(data):
        return int.from_bytes(data[offset : offset + size_bytes], "little")
    if not data:
        return NotMeasured(ConfigReason.UNREAD())
    # Linux shows 64 bytes without CAP_SYS_ADMIN; 256 where a bench has no access to the rest.
    privilege = len(data) <= reg.HEADER_BYTES
    cut = ConfigReason.CUT_WITHOUT_PRIVILEGE if privilege else ConfigReason.CUT_ON_THIS_BENCH
    return NotMeasured(
        cut(readable_bytes=len(data), whole_bytes=reg.EXTENDED_BYTES, offset=offset)
    )


def standard_chain(data: bytes) -> CapabilityChain:
    """The standard chain: byte pointers from 0x34 (PCI Local Bus 3.0, 6.7)."""
    if data[:2] == b"\xff\xff":
        return CapabilityChain((), ConfigReason.ALL_ONES())
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
        if cut is not None:
            return CapabilityChain(tuple(found), cut)
        entry = field(data, offset + reg.CAP_LIST_ID, 2)
        if isinstance(entry, NotMeasured):
            return CapabilityChain(tuple(found), entry.reason)
        if entry & 0xFF == 0xFF:
            return CapabilityChain(tuple(found), ConfigReason.CHAIN_ALL_ONES(offset=offset))
        found.append(Capability(entry & 0xFF, 0, offset, extended=False))
        offset = entry >> 8 & ~0x3
    return CapabilityChain(tuple(found))


def extended_chain(data: bytes) -> CapabilityChain:
    """The extended chain from 0x100: id, version and 12-bit pointer in each header.

    A header of all zeros ends it (PCI Express Base 5.0, 7.6.3).
    """
    if data[:2] == b"\xff\xff":
        return CapabilityChain((), ConfigReason.ALL_ONES())
    found: list[Capability] = []
    seen: set[int] = set()
    offset = reg.EXT_CAP_START
    while offset:
        cut = _bad_step(offset, reg.EXT_CAP_START, seen)
        if cut is not None:
            return CapabilityChain(tuple(found), cut)
        header = field(data, offset, 4)
        if isinstance(header, NotMeasured):
            return CapabilityChain(tuple(found), header.reason)
        if header == 0xFFFFFFFF:
            return CapabilityChain(tuple(found), ConfigReason.CHAIN_ALL_ONES(offset=offset))
        if header == 0:
            break
        found.append(Capability(header & 0xFFFF, header >> 16 & 0xF, offset, extended=True))
        offset = header >> 20 & 0xFFC
    return CapabilityChain(tuple(found))


def _bad_step(offset: int, lowest: int, seen: set[int]) -> Reason | None:
    if offset < lowest:
        return ConfigReason.CHAIN_POINTS_OUTSIDE(offset=offset)
    if offset in seen:
        return ConfigReason.CHAIN_LOOPS(offset=offset)
    seen.add(offset)
    return None
