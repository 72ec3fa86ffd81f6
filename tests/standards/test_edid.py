"""Our reading of EDID against edid-decode: fields, checksums, headers and missing blocks.

edid-decode's overall verdict also counts remarks on style, so the findings are compared one by one.
"""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from burnin.card.edid.base_block import Edid, parse_edid
from burnin.card.edid.reasons import EdidReason
from burnin.report.languages.catalogue import catalogue
from tests.card.edid_bytes import (
    FULL_HD,
    FULL_HD_INTERLACED,
    VIDEO_DATA,
    WIDE,
    base_block,
    cta_block,
    sealed,
    timing,
)

RequireTool = Callable[[str], str]
Decode = Callable[[bytes], str]


@pytest.fixture
def decode(require_tool: RequireTool, tmp_path: Path) -> Decode:
    program = require_tool("edid-decode")

    def run(data: bytes) -> str:
        path = tmp_path / "edid.bin"
        path.write_bytes(data)
        done = subprocess.run(
            [program, "--check", "--skip-hex-dump", str(path)], capture_output=True, text=True
        )
        return done.stdout + done.stderr

    return run


def one(pattern: str, text: str) -> str:
    found = re.search(pattern, text)
    assert found is not None, f"{pattern} is not in:\n{text}"
    return found.group(1)


def _extensions(text: str) -> int:
    """edid-decode says nothing where the count is 0."""
    found = re.search(r"Extension blocks: (\d+)", text)
    return int(found.group(1)) if found else 0


def checksum_failures(text: str) -> int:
    return len(re.findall(r"Checksum: 0x\w+ \(should be 0x\w+\)", text))


SOUND = [
    base_block(),
    base_block(preferred=WIDE, manufacturer="AAA", product_code=0xFF01, week=53, year=2019),
    base_block(manufacturer="ZZZ", serial_number=0xFFFFFFFE, name="Ottilie's"),
    base_block(extensions=1) + cta_block(WIDE, FULL_HD, data_blocks=VIDEO_DATA),
    base_block(extensions=1) + cta_block(FULL_HD_INTERLACED, data_blocks=VIDEO_DATA),
    base_block(extensions=1, preferred=timing(594_000, (3840, 2160), (560, 90)))
    + cta_block(data_blocks=VIDEO_DATA),
    base_block(extensions=2)
    + cta_block(WIDE, data_blocks=VIDEO_DATA)
    + cta_block(FULL_HD, data_blocks=VIDEO_DATA),
]


@pytest.mark.parametrize("data", SOUND)
def test_fields_are_those_that_edid_decode_prints(data: bytes, decode: Decode) -> None:
    text, edid = decode(data), parse_edid(data)
    assert edid.sound, edid.problems
    assert len(edid.blocks) > 1 or "EDID conformity: PASS" in text
    assert checksum_failures(text) == 0
    assert edid.version == one(r"EDID Structure Version & Revision: (\S+)", text)
    assert edid.manufacturer == one(r"Manufacturer: (\S+)", text)
    assert edid.product_code == int(one(r"Model: (\d+)", text))
    assert edid.serial_number == int(one(r"\n    Serial Number: (\d+)", text))
    assert edid.week == int(one(r"Made in: week (\d+)", text))
    assert edid.year == int(one(r"Made in: week \d+ of (\d+)", text))
    assert edid.name == one(r"Display Product Name: '(.*)'", text)
    assert edid.serial_text == one(r"Display Product Serial Number: '(.*?)'", text)
    assert edid.extensions_promised == _extensions(text)
    for block in edid.blocks:
        assert f"Checksum: 0x{block.checksum:02x}" in text


def modes_told(text: str) -> list[tuple[int, int, bool, float, float]]:
    """Width, height, interlace, refresh in Hz, pixel clock in MHz of each detailed timing."""
    return [
        (int(width), int(height), bool(letter), float(refresh), float(clock))
        for width, height, letter, refresh, clock in re.findall(
            r"DTD +\d+: +(\d+)x(\d+)(i?) +([\d.]+) Hz .*?([\d.]+) MHz", text
        )
    ]


@pytest.mark.parametrize("data", SOUND)
def test_modes_are_those_that_edid_decode_works_out(data: bytes, decode: Decode) -> None:
    told = modes_told(decode(data))
    edid = parse_edid(data)
    assert edid.preferred_mode is not None
    ours = [edid.preferred_mode, *(mode for extension in edid.cta for mode in extension.modes)]
    assert len(ours) == len(told) >= 1
    for mode, (width, height, interlaced, refresh_hz, clock_mhz) in zip(ours, told, strict=True):
        assert (mode.width_px, mode.height_px, mode.interlaced) == (width, height, interlaced)
        assert mode.refresh_hz == pytest.approx(refresh_hz, abs=1e-5)
        assert mode.pixel_clock_hz == pytest.approx(clock_mhz * 1e6)


def whats(edid: Edid) -> str:
    return "\n".join(catalogue("en").say(problem.told()) for problem in edid.problems)


@pytest.mark.parametrize("number", [0, 1])
def test_a_wrong_checksum_is_found_where_edid_decode_finds_it(
    number: int, decode: Decode
) -> None:
    data = bytearray(SOUND[3])
    data[number * 128 + 127] ^= 0x5A
    text, edid = decode(bytes(data)), parse_edid(bytes(data))
    assert checksum_failures(text) == 1
    (problem,) = edid.problems
    should = int(one(r"should be 0x(\w+)", text), 16)
    assert problem.offset == number * 128 + 127
    assert edid.blocks[number].checksum_expected == should
    assert problem.what.means(EdidReason.WRONG_CHECKSUM)
    assert problem.what["checksum"] == should
    assert [block.sound for block in edid.blocks] == [number != 0, number != 1]


@pytest.mark.parametrize("offset", range(128))
def test_any_byte_that_flips_on_the_way_is_seen_by_both(offset: int, decode: Decode) -> None:
    data = bytearray(base_block())
    data[offset] ^= 0x01
    edid = parse_edid(bytes(data))
    assert any(problem.offset == 127 for problem in edid.problems)
    if offset % 16 == 9:  # the outside tool starts slowly: a sample of the bytes is enough
        assert checksum_failures(decode(bytes(data))) == 1


def test_a_wrong_header_is_found_by_both(decode: Decode) -> None:
    data = sealed(b"\x00\xff\xff\xff\xfe\xff\xff\x00" + base_block()[8:])
    text, edid = decode(data), parse_edid(data)
    assert "No EDID header found" in text
    assert [problem.offset for problem in edid.problems] == [0]
    assert edid.problems[0].hex == "00 ff ff ff fe ff ff 00"


def test_a_missing_extension_is_found_by_both(decode: Decode) -> None:
    data = base_block(extensions=1)
    text, edid = decode(data), parse_edid(data)
    assert "EDID specified 1 extension block(s), but found 0" in text
    assert "extension blocks promised: 1, present: 0" in whats(edid)


def test_a_truncated_block_is_refused_by_both(decode: Decode) -> None:
    data = base_block()[:100]
    text, edid = decode(data), parse_edid(data)
    assert "EDID length 100 is not a multiple of 128" in text
    assert "100 bytes at the end" in whats(edid)
    assert not edid.blocks


def test_a_first_descriptor_without_a_mode_fails_both(decode: Decode) -> None:
    base = bytearray(base_block())
    base[54:72], base[72:90] = base[72:90], base[54:72]
    data = sealed(bytes(base))
    assert "Missing preferred timing" in decode(data)
    edid = parse_edid(data)
    assert edid.preferred_mode is None
    assert [problem.offset for problem in edid.problems] == [54]
