"""A slot as the board's firmware describes it: SMBIOS structure of type 9, System Slots.

DMTF DSP0134 (SMBIOS), 7.10: designation at 04h, segment group at 0Dh, bus at 0Fh, device and
function at 10h (bits 7:3 and 2:0); these three since version 2.6, all ones where they do not apply;
strings follow the formatted area, numbered from 1, each ended by a zero (6.1.3). Offsets from
memory. Firmware is not to be trusted: what does not hold together is no slot, never an error.
"""

from __future__ import annotations

from dataclasses import dataclass

SYSTEM_SLOT = 9
MOST_BYTES = 4096
"""Most of a structure that is read: at most 255 bytes and some strings."""
_MOST_NAME = 40
_HEADER_BYTES, _WITH_ADDRESS_BYTES = 4, 0x11
_DESIGNATION, _SEGMENT, _BUS, _FUNCTION = 0x04, 0x0D, 0x0F, 0x10
_NO_SEGMENT, _NO_NUMBER = 0xFFFF, 0xFF


@dataclass(frozen=True)
class FirmwareSlot:
    """A slot: the name that is printed beside it, and the function in it or the port above it."""

    name: str
    address: str


def slot_in(raw: bytes) -> FirmwareSlot | None:
    """The slot that a structure describes; None where it is none, or tells no name or place."""
    if len(raw) < _HEADER_BYTES or raw[0] != SYSTEM_SLOT:
        return None
    length = raw[1]
    if length < _WITH_ADDRESS_BYTES or length > len(raw):
        return None
    segment = int.from_bytes(raw[_SEGMENT : _SEGMENT + 2], "little")
    bus, function = raw[_BUS], raw[_FUNCTION]
    if segment == _NO_SEGMENT or (bus == _NO_NUMBER and function == _NO_NUMBER):
        return None
    name = _string(raw[length:], raw[_DESIGNATION])
    if not name:
        return None
    return FirmwareSlot(name, f"{segment:04x}:{bus:02x}:{function >> 3:02x}.{function & 7}")


def _string(strings: bytes, number: int) -> str:
    """The string of a number, 0 for none; empty where there is none, or nothing to be shown."""
    if number < 1:
        return ""
    parts = strings.split(b"\0")
    # An empty string ends the set: what lies behind it is another structure's.
    there = parts[: parts.index(b"")] if b"" in parts else parts
    return shown_name(there[number - 1]) if number <= len(there) else ""


def shown_name(raw: bytes) -> str:
    """Bytes of a name as one short line of what can be shown."""
    text = raw[: 4 * _MOST_NAME].decode("utf-8", errors="replace")
    seen = "".join(letter if letter.isprintable() else " " for letter in text)
    return " ".join(seen.split())[:_MOST_NAME]
