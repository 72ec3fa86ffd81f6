"""EDIDs made out of a sound one: fewer or more extensions, a damaged byte (VESA E-EDID 1.4)."""

from __future__ import annotations

_BLOCK, _COUNT = 128, 126


def without_extension(own: bytes) -> bytes:
    """The base block alone."""
    return _summed(own[:_COUNT] + b"\0" + own[_COUNT + 1 : _BLOCK])


def with_display_id(own: bytes) -> bytes:
    """One extension more: an empty section of DisplayID 1.3 (product type 3, no data blocks)."""
    base = _summed(own[:_COUNT] + b"\x02" + own[_COUNT + 1 : _BLOCK])
    section = bytes((0x13, 0, 3, 0))
    block = bytes((0x70,)) + section + bytes((-sum(section) % 256,))
    return base + own[_BLOCK : 2 * _BLOCK] + _summed(block.ljust(_BLOCK, b"\0"))


def damaged(own: bytes) -> bytes:
    """One bit of the name has flipped on its way."""
    at = own.index(b"QEMU")
    return own[:at] + bytes((own[at] ^ 0x04,)) + own[at + 1 :]


def _summed(block: bytes) -> bytes:
    return block[:-1] + bytes((-sum(block[:-1]) % 256,))
