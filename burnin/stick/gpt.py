"""A partition table as firmware reads it: UEFI Specification 2.10, chapter 5 (GPT).

Written from its parts and read back, in plain bytes, so that the same parts give the same table on
every system.
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from dataclasses import dataclass
from typing import BinaryIO
from uuid import UUID
from zlib import crc32

from burnin.core.errors import BadInput
from burnin.stick.refusals import StickRefusal

SECTOR_BYTES = 512
ENTRIES_COUNT, ENTRY_BYTES = 128, 128
_TABLE_SECTORS = ENTRIES_COUNT * ENTRY_BYTES // SECTOR_BYTES
FIRST_SECTOR = 2048
"""Where the first partition begins: 1 MiB, so that every flash page is met whole."""
AFTER_SECTORS = _TABLE_SECTORS + 1
"""What the second copy of the table takes at the end."""
_HEADER = struct.Struct("<8sIIIIQQQQ16sQIII")
_ENTRY = struct.Struct("<16s16sQQQ72s")
_NAME_UNITS = 36


@dataclass(frozen=True)
class Partition:
    """One partition; `number` is its place in the table, which need not follow the disk."""

    number: int
    name: str
    kind: UUID
    own_id: UUID
    first: int
    count: int

    @property
    def at_bytes(self) -> int:
        """Where it begins."""
        return self.first * SECTOR_BYTES

    @property
    def size_bytes(self) -> int:
        """How long it is."""
        return self.count * SECTOR_BYTES


def table(partitions: Sequence[Partition], disk_id: UUID, sectors: int) -> tuple[bytes, bytes]:
    """The first 34 sectors of the disk, without a program to start, and its last 33."""
    entries = bytearray(ENTRIES_COUNT * ENTRY_BYTES)
    for one in partitions:
        name = one.name.encode("utf-16-le")
        assert len(name) <= 2 * _NAME_UNITS
        _ENTRY.pack_into(
            entries, (one.number - 1) * ENTRY_BYTES, one.kind.bytes_le, one.own_id.bytes_le,
            one.first, one.first + one.count - 1, 0, name,
        )  # fmt: skip
    usable = FIRST_SECTOR, sectors - AFTER_SECTORS - 1

    def header(here: int, other: int, at: int) -> bytes:
        def packed(sum_: int) -> bytes:
            return _HEADER.pack(
                b"EFI PART", 0x10000, _HEADER.size, sum_, 0, here, other, *usable,
                disk_id.bytes_le, at, ENTRIES_COUNT, ENTRY_BYTES, crc32(entries),
            )  # fmt: skip

        return packed(crc32(packed(0))).ljust(SECTOR_BYTES, b"\0")

    first = _protective(sectors) + header(1, sectors - 1, 2) + bytes(entries)
    last = bytes(entries) + header(sectors - 1, 1, sectors - AFTER_SECTORS)
    return first, last


def _protective(sectors: int) -> bytes:
    """The first sector for systems that know no such table: all of it is taken."""
    whole = struct.pack("<B3sB3sII", 0x80, b"\0\2\0", 0xEE, b"\xff\xff\xff", 1, sectors - 1)
    return bytes(446) + whole + bytes(48) + b"\x55\xaa"


def read_table(disk: BinaryIO, name: str) -> tuple[Partition, ...]:
    """The partitions of a disk by their number; raises BadInput where its table is not whole."""
    disk.seek(SECTOR_BYTES)
    raw = disk.read(SECTOR_BYTES)
    if len(raw) < SECTOR_BYTES or not raw.startswith(b"EFI PART"):
        raise BadInput(StickRefusal.NO_TABLE(file=name))
    fields = _HEADER.unpack_from(raw)
    bare = raw[:16] + bytes(4) + raw[20 : _HEADER.size]
    disk.seek(2 * SECTOR_BYTES)
    entries = disk.read(ENTRIES_COUNT * ENTRY_BYTES)
    if crc32(bare) != fields[3] or fields[11:13] != (ENTRIES_COUNT, ENTRY_BYTES):
        raise BadInput(StickRefusal.TABLE_TORN(file=name))
    if crc32(entries) != fields[13]:
        raise BadInput(StickRefusal.TABLE_TORN(file=name))
    found = []
    for number in range(1, ENTRIES_COUNT + 1):
        kind, own, first, last, _, text = _ENTRY.unpack_from(entries, (number - 1) * ENTRY_BYTES)
        if any(kind) and last >= first:
            title = text.decode("utf-16-le", "replace").rstrip("\0")
            found.append(
                Partition(
                    number, title, UUID(bytes_le=kind), UUID(bytes_le=own), first, last - first + 1
                )
            )
    return tuple(found)
