"""The tree of hashes over the root, as the kernel's dm-verity reads it, worked out anew.

Documentation/admin-guide/device-mapper/verity.rst: version 1, SHA-256, blocks of 4096 bytes, the
salt before each block. It needs no kernel and no tool: a stick can be read back on any system.
"""

from __future__ import annotations

from collections.abc import Callable
from hashlib import sha256
from typing import BinaryIO

BLOCK_BYTES = 4096
_PER_BLOCK = BLOCK_BYTES // 32
SUPERBLOCK_BYTES = 512


def root_hash(
    data: BinaryIO, size_bytes: int, salt: bytes, seen: Callable[[int], None] = lambda _: None
) -> bytes:
    """The hash over all of `data` from where it stands; `seen` is told of the bytes read so far."""
    blocks = size_bytes // BLOCK_BYTES
    hashes = bytearray()
    for number in range(blocks):
        hashes += sha256(salt + data.read(BLOCK_BYTES)).digest()
        if number % 4096 == 0:
            seen(number * BLOCK_BYTES)
    while len(hashes) > 32:
        level = bytes(hashes)
        hashes = bytearray()
        for at in range(0, len(level), _PER_BLOCK * 32):
            block = level[at : at + BLOCK_BYTES].ljust(BLOCK_BYTES, b"\0")
            hashes += sha256(salt + block).digest()
    return bytes(hashes)
