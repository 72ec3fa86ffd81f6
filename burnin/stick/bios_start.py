"""How a BIOS starts the stick: GRUB's first sector and its core, told where the core lies.

The places that are filled in are those of GRUB's own boot.S and diskboot.S (GRUB 2.06,
include/grub/i386/pc/boot.h): where the core begins, from which drive, and the list of its sectors.
"""

from __future__ import annotations

import struct

from burnin.core.errors import BadInput
from burnin.stick.gpt import SECTOR_BYTES
from burnin.stick.refusals import StickRefusal

_CORE_AT, _DRIVE_AT, _DRIVE_CHECK_AT = 0x5C, 0x64, 0x66
_ANY_DRIVE = 0xFF
_CODE_BYTES = 440
"""What follows in the first sector is the disk's own number and its table."""
_LIST_AT = SECTOR_BYTES - 12
_CORE_SEGMENT = 0x820


def first_sector(boot: bytes, table_sector: bytes, core_sector: int) -> bytes:
    """The disk's first sector: GRUB's code, which loads the core, before the table of the disk."""
    if len(boot) != SECTOR_BYTES or boot[510:] != b"\x55\xaa":
        raise BadInput(StickRefusal.NO_BOOT_SECTOR(size_bytes=len(boot)))
    code = bytearray(boot[:_CODE_BYTES])
    struct.pack_into("<Q", code, _CORE_AT, core_sector)
    code[_DRIVE_AT] = _ANY_DRIVE
    # A disk is asked for by the number that the BIOS gives; the check is for floppies alone.
    code[_DRIVE_CHECK_AT : _DRIVE_CHECK_AT + 2] = b"\x90\x90"
    return bytes(code) + table_sector[_CODE_BYTES:]


def placed_core(core: bytes, core_sector: int) -> bytes:
    """GRUB's core, whose first sector loads the others: told where these lie."""
    count = -(-len(core) // SECTOR_BYTES)
    placed = bytearray(core.ljust(count * SECTOR_BYTES, b"\0"))
    struct.pack_into("<QHH", placed, _LIST_AT, core_sector + 1, count - 1, _CORE_SEGMENT)
    return bytes(placed)
