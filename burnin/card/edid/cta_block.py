"""The extension block for consumer displays: its timings and its list of data blocks.

Layout as in CTA-861-G, section 7.5.
"""

from __future__ import annotations

from dataclasses import dataclass

from burnin.card.edid.layout import BLOCK_BYTES, CHECKSUM, DESCRIPTOR_BYTES, EdidProblem
from burnin.card.edid.reasons import EdidReason
from burnin.card.edid.timing import Mode, detailed_mode

TAG_CTA = 0x02  # CTA-861-G, table 44
EXTENDED_TAG = 7  # CTA-861-G, table 54: the data block's next byte says which
OVERRIDE_BLOCK = 0x78  # HDMI 2.1, 10.3.6: HDMI Forum EDID extension override


@dataclass(frozen=True)
class CtaExtension:
    """A CTA-861 extension: its revision, its detailed timings, how many data blocks it holds."""

    revision: int
    modes: tuple[Mode, ...]
    data_blocks: int


def read_cta(block: bytes, number: int, problems: list[EdidProblem]) -> CtaExtension:
    """Detailed timings from byte 2's offset on, data blocks between byte 4 and there."""
    revision, start = block[1], block[2]
    first = number * BLOCK_BYTES
    modes: list[Mode] = []
    if start != 0 and not 4 <= start <= CHECKSUM:
        what = EdidReason.TIMINGS_MISPLACED()
        problems.append(EdidProblem(first + 2, f"{start:02x}", what))
        return CtaExtension(revision, (), 0)
    if start:
        for place in range(start, CHECKSUM - DESCRIPTOR_BYTES + 1, DESCRIPTOR_BYTES):
            mode = detailed_mode(block[place : place + DESCRIPTOR_BYTES])
            if mode is None:
                break
            modes.append(mode)
    count, place, end = 0, 4, start if revision >= 3 else 0
    while place < end:
        length = block[place] & 0x1F
        if place + 1 + length > end:
            what = EdidReason.DATA_BLOCK_TOO_LONG()
            problems.append(EdidProblem(first + place, f"{block[place]:02x}", what))
            break
        place += 1 + length
        count += 1
    return CtaExtension(revision, tuple(modes), count)


def extension_override(data: bytes) -> tuple[int, int] | None:
    """Offset and value of the count where block 1 opens with an HDMI Forum override."""
    first = data[BLOCK_BYTES : 2 * BLOCK_BYTES]
    if len(first) < 7 or first[0] != TAG_CTA:
        return None
    if first[4] == EXTENDED_TAG << 5 | 2 and first[5] == OVERRIDE_BLOCK and first[6]:
        return BLOCK_BYTES + 6, first[6]
    return None
