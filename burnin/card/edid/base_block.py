"""EDID, read byte by byte: what a monitor says of itself, and what is wrong with how it says it.

Field offsets follow VESA E-EDID Standard, release A, revision 2 (EDID 1.4), section 3; the
extension for consumer displays is in `edid_cta`. `parse_edid` never raises.
"""

from __future__ import annotations

from dataclasses import dataclass

from burnin.card.edid.cta_block import TAG_CTA, CtaExtension, extension_override, read_cta
from burnin.card.edid.layout import BLOCK_BYTES, CHECKSUM, DESCRIPTOR_BYTES, EdidProblem
from burnin.card.edid.reasons import EdidReason
from burnin.card.edid.timing import Mode, detailed_mode
from burnin.core.reading import NotMeasured

HEADER = bytes.fromhex("00ffffffffffff00")  # E-EDID 1.4, 3.3
FIRST_DESCRIPTOR = 54
EXTENSION_COUNT = 126

TAG_BLOCK_MAP = 0xF0  # E-EDID 1.4, 2.2.1
NAME_DESCRIPTOR = 0xFC  # E-EDID 1.4, table 3.23
SERIAL_DESCRIPTOR = 0xFF

EXTENSION_NAMES: dict[int, str] = {
    TAG_CTA: "CTA-861",
    0x10: "video timing block",
    0x40: "display information",
    0x50: "localised strings",
    0x70: "DisplayID",
    TAG_BLOCK_MAP: "block map",
}


@dataclass(frozen=True)
class EdidBlock:
    """One 128-byte block; `name` tells the base block or the kind of extension."""

    number: int
    tag: int
    name: str
    checksum: int
    checksum_expected: int

    @property
    def sound(self) -> bool:
        """Whether the bytes of the block sum to 0 modulo 256."""
        return self.checksum == self.checksum_expected


@dataclass(frozen=True)
class Edid:
    """Everything read from the bytes behind one connector."""

    blocks: tuple[EdidBlock, ...]
    extensions_promised: int | NotMeasured
    version: str | NotMeasured
    manufacturer: str | NotMeasured
    product_code: int | NotMeasured
    serial_number: int | NotMeasured
    week: int | NotMeasured
    year: int | NotMeasured
    is_model_year: bool
    name: str | NotMeasured
    serial_text: str | NotMeasured
    preferred_mode: Mode | None
    cta: tuple[CtaExtension, ...]
    problems: tuple[EdidProblem, ...]

    @property
    def sound(self) -> bool:
        """Whether nothing is wrong with the bytes."""
        return not self.problems


def parse_edid(data: bytes) -> Edid:
    """The EDID in these bytes, however few or wrong they are."""
    problems: list[EdidProblem] = []
    blocks = _blocks(data, problems)
    base = data[:BLOCK_BYTES]
    if len(base) >= 8 and base[:8] != HEADER:
        what = EdidReason.WRONG_HEADER(header_hex=HEADER.hex(" "))
        problems.append(EdidProblem(0, base[:8].hex(" "), what))
    cta = tuple(
        read_cta(data[block.number * BLOCK_BYTES :][:BLOCK_BYTES], block.number, problems)
        for block in blocks[1:]
        if block.tag == TAG_CTA
    )
    promised = _count_extensions(data, blocks, problems)
    if len(base) < BLOCK_BYTES:
        absent = NotMeasured(EdidReason.BASE_BLOCK_CUT(bytes_there=len(base)))
        return Edid(
            blocks, promised, absent, absent, absent, absent, absent, absent, False, absent,
            absent, None, cta, tuple(problems),
        )  # fmt: skip
    version, revision = base[18], base[19]
    if version != 1:
        problems.append(EdidProblem(18, base[18:20].hex(" "), EdidReason.WRONG_VERSION()))
    preferred = _preferred(base, (version, revision), problems)
    week, year, is_model_year = _date(base)
    return Edid(
        blocks=blocks,
        extensions_promised=promised,
        version=f"{version}.{revision}",
        manufacturer=_manufacturer(base, problems),
        product_code=int.from_bytes(base[10:12], "little"),
        serial_number=int.from_bytes(base[12:16], "little"),
        week=week,
        year=year,
        is_model_year=is_model_year,
        name=_text(base, NAME_DESCRIPTOR, EdidReason.NO_NAME, EdidReason.NAME_BLANK),
        serial_text=_text(
            base, SERIAL_DESCRIPTOR, EdidReason.NO_SERIAL_TEXT, EdidReason.SERIAL_TEXT_BLANK
        ),
        preferred_mode=preferred,
        cta=cta,
        problems=tuple(problems),
    )


def _blocks(data: bytes, problems: list[EdidProblem]) -> tuple[EdidBlock, ...]:
    if not data:
        problems.append(EdidProblem(0, "", EdidReason.NO_BYTES()))
    elif len(data) % BLOCK_BYTES:
        at = len(data) // BLOCK_BYTES * BLOCK_BYTES
        rest = data[at:]
        over = EdidReason.BYTES_AT_THE_END(bytes_over=len(rest))
        problems.append(EdidProblem(at, rest[:16].hex(" "), over))
    found: list[EdidBlock] = []
    for number in range(len(data) // BLOCK_BYTES):
        block = data[number * BLOCK_BYTES : (number + 1) * BLOCK_BYTES]
        expected = -sum(block[:CHECKSUM]) % 256  # E-EDID 1.4, 3.11: the sum is 0 modulo 256
        name = "base" if number == 0 else EXTENSION_NAMES.get(block[0], f"tag 0x{block[0]:02x}")
        found.append(EdidBlock(number, block[0], name, block[CHECKSUM], expected))
        if block[CHECKSUM] != expected:
            what = EdidReason.WRONG_CHECKSUM(block=number, block_name=name, checksum=expected)
            at, shown = number * BLOCK_BYTES + CHECKSUM, f"{block[CHECKSUM]:02x}"
            problems.append(EdidProblem(at, shown, what))
    return tuple(found)


def _count_extensions(
    data: bytes, blocks: tuple[EdidBlock, ...], problems: list[EdidProblem]
) -> int | NotMeasured:
    if not blocks:
        return NotMeasured(EdidReason.BASE_BLOCK_INCOMPLETE())
    promised = data[EXTENSION_COUNT]
    at, shown = EXTENSION_COUNT, f"{promised:02x}"
    override = extension_override(data)
    if promised >= 1 and override is not None:
        at, promised = override
        shown = f"{promised:02x}"
    present = len(blocks) - 1
    if present != promised:
        what = EdidReason.WRONG_EXTENSION_COUNT(promised=promised, present=present)
        problems.append(EdidProblem(at, shown, what))
    return promised


def _manufacturer(base: bytes, problems: list[EdidProblem]) -> str | NotMeasured:
    """Three letters of five bits each, 1 = A, most significant first (E-EDID 1.4, 3.4.1)."""
    packed = int.from_bytes(base[8:10], "big")
    letters = [packed >> shift & 0x1F for shift in (10, 5, 0)]
    if packed & 0x8000 or not all(1 <= letter <= 26 for letter in letters):
        shown = base[8:10].hex(" ")
        problems.append(EdidProblem(8, shown, EdidReason.WRONG_MANUFACTURER()))
        return NotMeasured(EdidReason.NO_MANUFACTURER(hex_bytes=shown))
    return "".join(chr(ord("A") - 1 + letter) for letter in letters)


def _date(base: bytes) -> tuple[int | NotMeasured, int | NotMeasured, bool]:
    """Week and year of making; week 255 turns the year into the model's (E-EDID 1.4, 3.4.4)."""
    week, year = base[16], base[17]
    told: int | NotMeasured = week if 1 <= week <= 54 else NotMeasured(EdidReason.NO_WEEK())
    return told, year + 1990, week == 0xFF


def _preferred(
    base: bytes, version: tuple[int, int], problems: list[EdidProblem]
) -> Mode | None:
    """The first descriptor: from EDID 1.3 on it must be the preferred timing (3.10.1)."""
    raw = base[FIRST_DESCRIPTOR : FIRST_DESCRIPTOR + DESCRIPTOR_BYTES]
    mode = detailed_mode(raw)
    if mode is None:
        if version >= (1, 3):
            what = EdidReason.NO_PREFERRED_MODE()
            problems.append(EdidProblem(FIRST_DESCRIPTOR, raw.hex(" "), what))
        return None
    if not mode.plausible:
        what = EdidReason.IMPOSSIBLE_MODE(mode=mode.term())
        problems.append(EdidProblem(FIRST_DESCRIPTOR, raw.hex(" "), what))
    return mode


def _text(
    base: bytes, tag: int, absent: EdidReason, blank: EdidReason
) -> str | NotMeasured:
    """Text of up to 13 characters, ended by 0x0a (E-EDID 1.4, 3.10.3)."""
    for at in range(FIRST_DESCRIPTOR, EXTENSION_COUNT, DESCRIPTOR_BYTES):
        raw = base[at : at + DESCRIPTOR_BYTES]
        if raw[:3] == b"\0\0\0" and raw[3] == tag:
            text = raw[5:].split(b"\n")[0].decode("cp437").strip()
            shown = "".join(letter for letter in text if letter.isprintable()).strip()
            return shown or NotMeasured(blank())
    return NotMeasured(absent())
