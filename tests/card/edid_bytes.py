"""EDID blocks built byte by byte, sound or damaged in a stated way."""

from __future__ import annotations

BLOCK = 128


def sealed(block: bytes) -> bytes:
    """The first 127 bytes with the checksum that makes their sum 0 modulo 256."""
    assert len(block) in (127, 128)
    return block[:127] + bytes([-sum(block[:127]) % 256])


def timing(
    clock_khz: int, active: tuple[int, int], blank: tuple[int, int], *, interlaced: bool = False
) -> bytes:
    """A detailed timing with plausible syncs (VESA E-EDID 1.4, table 3.21)."""
    (width, height), (h_blank, v_blank) = active, blank
    lines = height // 2 if interlaced else height
    return bytes(
        [
            *(clock_khz // 10).to_bytes(2, "little"),
            width & 0xFF,
            h_blank & 0xFF,
            width >> 8 << 4 | h_blank >> 8,
            lines & 0xFF,
            v_blank & 0xFF,
            lines >> 8 << 4 | v_blank >> 8,
            88,
            44,
            4 << 4 | 5,
            0,
            600 & 0xFF,
            340 & 0xFF,
            600 >> 8 << 4 | 340 >> 8,
            0,
            0,
            0x9E if interlaced else 0x1E,
        ]
    )


FULL_HD = timing(148_500, (1920, 1080), (280, 45))
WIDE = timing(241_500, (2560, 1440), (160, 41))
FULL_HD_INTERLACED = timing(74_250, (1920, 1080), (280, 22), interlaced=True)


def text_descriptor(tag: int, text: str) -> bytes:
    raw = text.encode("ascii")[:13]
    padded = raw + b"\n" if len(raw) < 13 else raw
    return bytes([0, 0, 0, tag, 0]) + padded.ljust(13, b" ")


RANGE = bytes([0, 0, 0, 0xFD, 0, 48, 75, 30, 140, 30, 0x01, 0x0A, *b"      "])


def base_block(
    *,
    manufacturer: str = "CRV",
    product_code: int = 0x1234,
    serial_number: int = 0x01020304,
    week: int = 12,
    year: int = 2024,
    preferred: bytes = FULL_HD,
    name: str = "Corvane View",
    extensions: int = 0,
) -> bytes:
    """A sound base block of EDID 1.4 for a digital screen of 600 × 340 mm."""
    packed = 0
    for letter in manufacturer:
        packed = packed << 5 | ord(letter) - ord("A") + 1
    block = bytes.fromhex("00ffffffffffff00")
    block += packed.to_bytes(2, "big") + product_code.to_bytes(2, "little")
    block += serial_number.to_bytes(4, "little") + bytes([week, year - 1990, 1, 4])
    block += bytes([0xA5, 60, 34, 120, 0x06])  # DisplayPort, 8 bits; size; gamma 2.2; sRGB, native
    block += bytes.fromhex("ee91a3544c99260f5054")  # sRGB primaries
    block += bytes([0x21, 0x08, 0x00])  # established timings
    block += bytes([0x81, 0x80, 0xD1, 0xC0] + [0x01, 0x01] * 6)  # standard timings
    block += preferred + text_descriptor(0xFC, name) + text_descriptor(0xFF, "B000042") + RANGE
    return sealed(block + bytes([extensions]))


def cta_block(*timings: bytes, data_blocks: bytes = b"", start: int | None = None) -> bytes:
    """A CTA-861 extension of revision 3 (CTA-861-G, 7.5)."""
    where = 4 + len(data_blocks) if start is None else start
    block = bytes([0x02, 0x03, where, 0x00]) + data_blocks + b"".join(timings)
    return sealed(block.ljust(127, b"\0"))


VIDEO_DATA = bytes([2 << 5 | 2, 16, 4])  # 1920×1080p60 and 1280×720p60
