"""EDID blocks of invented monitors, as VESA E-EDID 1.4 lays them out.

Layout: header at 0, maker and product 8-17, version 18-19, display parameters 20-24, colour
25-34, established timings 35-37, standard timings 38-53, four descriptors 54-125, number of
extensions 126, checksum 127 (all bytes of a block sum to 0 modulo 256). The second block is a
CTA-861 extension (tag 2, revision 3). Details beyond that layout are from memory.
"""

from __future__ import annotations

import zlib
from collections.abc import Sequence

MAKER = "WFX"
"""Three letters of a monitor maker that does not exist."""
MODES = ("2560x1440", "1920x1080", "1280x720", "800x600", "640x480")
"""Modes the monitor offers, the preferred one first."""
_HEADER = bytes([0x00, *[0xFF] * 6, 0x00])
_CHROMATICITY = bytes([0xEE, 0x91, 0xA3, 0x54, 0x4C, 0x99, 0x26, 0x0F, 0x50, 0x54])


def _sealed(block: Sequence[int]) -> bytes:
    """127 bytes with the checksum that makes all 128 sum to 0."""
    return bytes(block) + bytes([-sum(block) % 256])


def _maker_id(letters: str) -> bytes:
    """Three letters in five bits each, A is 1, big end first."""
    number = 0
    for letter in letters:
        number = number << 5 | ord(letter) - ord("A") + 1
    return number.to_bytes(2, "big")


def _preferred_timing() -> bytes:
    """2560x1440 at 59.95 Hz with reduced blanking: pixel clock 241.50 MHz, 597 mm x 336 mm."""
    active_x, blank_x, front_x, sync_x = 2560, 160, 48, 32
    active_y, blank_y, front_y, sync_y = 1440, 41, 3, 5
    width_mm, height_mm = 597, 336
    return (
        (24150).to_bytes(2, "little")
        + bytes(
            [
                active_x & 0xFF, blank_x & 0xFF, (active_x >> 8) << 4 | blank_x >> 8,
                active_y & 0xFF, blank_y & 0xFF, (active_y >> 8) << 4 | blank_y >> 8,
                front_x & 0xFF, sync_x & 0xFF, (front_y & 0xF) << 4 | sync_y & 0xF,
                (front_x >> 8) << 6 | (sync_x >> 8) << 4 | (front_y >> 4) << 2 | sync_y >> 4,
                width_mm & 0xFF, height_mm & 0xFF, (width_mm >> 8) << 4 | height_mm >> 8,
                0, 0, 0x1A,
            ]
        )
    )


def _text_descriptor(tag: int, text: str) -> bytes:
    """An 18-byte display descriptor holding up to 13 characters."""
    body = text.encode("ascii", "replace")[:13]
    if len(body) < 13:
        body = (body + b"\n").ljust(13)
    return bytes([0, 0, 0, tag, 0]) + body


def _base_block(name: str, serial: str, connector: str, extensions: int) -> bytes:
    """The base block: version 1.4, but 1.3 behind HDMI, which asks for it."""
    hdmi = connector.startswith("HDMI")
    block = bytearray(_HEADER)
    block += _maker_id(MAKER)
    block += (0x2700 | zlib.crc32(name.encode()) & 0xFF).to_bytes(2, "little")
    block += bytes(4)
    block += bytes([12, 2024 - 1990, 1, 3 if hdmi else 4])
    kind = 0x80 if hdmi else 0xA5 if connector.startswith("DP") else 0xA1
    block += bytes([kind, 60, 34, 120, 0x0E])
    block += _CHROMATICITY
    block += bytes([0x21, 0x08, 0x00])
    block += bytes([0xD1, 0xC0, 0x81, 0xC0]) + bytes([0x01, 0x01]) * 6
    block += _preferred_timing()
    formula = 0x00 if hdmi else 0x01
    range_limits = bytes([0, 0, 0, 0xFD, 0, 48, 75, 30, 110, 30, formula, 0x0A]) + b" " * 6
    block += range_limits
    block += _text_descriptor(0xFC, name)
    block += _text_descriptor(0xFF, serial)
    block += bytes([extensions])
    return _sealed(block)


def _cta_block(hdmi: bool) -> bytes:
    """A CTA-861 extension: video codes 16 (1080p), 4 (720p), 1 (640x480), no detailed timing."""
    video = bytes([0x43, 0x10, 0x04, 0x01])
    vendor = bytes([0x65, 0x03, 0x0C, 0x00, 0x10, 0x00]) if hdmi else b""
    video_capability = bytes([0xE2, 0x00, 0xCA])
    blocks = video + vendor + video_capability
    head = bytes([0x02, 0x03, 4 + len(blocks), 0x81])
    return _sealed((head + blocks).ljust(127, b"\x00"))


def edid_of(name: str, connector: str, extended: bool) -> bytes:
    """EDID of a monitor on a connector (``DP-1``): 128 bytes, 256 with the extension."""
    serial = f"WF{zlib.crc32(f'{name} {connector}'.encode()) % 10**8:08d}"
    base = _base_block(name, serial, connector, 1 if extended else 0)
    return base + (_cta_block(connector.startswith("HDMI")) if extended else b"")
