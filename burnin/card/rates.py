"""What a link can carry: generation, rate, line code, and the ceiling that packets leave.

Rates and line codes as in Linux ``drivers/pci/pci.h`` (PCIE_SPEED2MBS_ENC) up to generation 5; the
256-byte FLIT of generation 6 as the PCI-SIG describes it (242 bytes before CRC and FEC). Packets'
headers, framing and LCRC as in Intel AN 456.
All GB/s are 10⁹ bytes per second, in one direction.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from burnin.card.meanings import LinkWordsReason
from burnin.core.reading import NotMeasured


@dataclass(frozen=True)
class Generation:
    """One generation of PCI Express: `speed_gts` per lane, `coded` of `raw` units are data."""

    number: int
    speed_gts: float
    code: str
    coded: int
    raw: int

    @property
    def efficiency(self) -> float:
        """The share of the line's bits that the code leaves to data."""
        return self.coded / self.raw


GENERATIONS: dict[int, Generation] = {
    1: Generation(1, 2.5, "8b/10b", 8, 10),
    2: Generation(2, 5.0, "8b/10b", 8, 10),
    3: Generation(3, 8.0, "128b/130b", 128, 130),
    4: Generation(4, 16.0, "128b/130b", 128, 130),
    5: Generation(5, 32.0, "128b/130b", 128, 130),
    6: Generation(6, 64.0, "1b/1b in FLITs", 242, 256),
}

RATE_GTS: dict[int, float] = {number: item.speed_gts for number, item in GENERATIONS.items()}
"""GT/s per lane by generation."""

FLIT_TLP_BYTES = 236
FLIT_CODED_BYTES = 242
FLIT_BYTES = 256
"""Of a FLIT's 256 bytes, 236 hold packets, 6 the data link, 8 CRC, 6 FEC. The 242 + 8 + 6 is the
PCI-SIG's own account of 6.0; the split of the 242 is from memory."""

_DWORD_BYTES = 4
_FRAMING_AND_LCRC_BYTES = 8
"""Framing, sequence number and LCRC: 1 + 2 + 4 + 1 bytes in generations 1 and 2, a 4-byte STP token
and 4 bytes of LCRC in 3 to 5, so two dwords in each (with the header: Intel AN 456's 5 to 7)."""

_SPEED = re.compile(r"(\d{1,3}(?:\.\d)?) ?GT/s(?: PCIe)?", re.ASCII)
_WIDTH = re.compile(r"x?(\d{1,3})", re.ASCII)


def generation_of_speed(speed_gts: float) -> int | NotMeasured:
    """The generation that introduced this rate in GT/s."""
    for generation in GENERATIONS.values():
        if generation.speed_gts == speed_gts:
            return generation.number
    return NotMeasured(LinkWordsReason.NO_RATE(speed_gts=speed_gts))


def line_rate_gbs(generation: int, width_lanes: int) -> float:
    """GB/s of coded data over all lanes: GT/s × efficiency × lanes / 8.

    Raises ValueError for a generation other than 1 to 6 or a width below 1.
    """
    return _generation(generation).speed_gts * _generation(generation).efficiency * _lanes(
        width_lanes
    ) / 8


def payload_share(
    generation: int, max_payload_bytes: int, *, header_dwords: int = 4, ecrc: bool = False
) -> float:
    """The share of coded bytes that is payload when every packet is full.

    payload / (payload + overhead), Intel AN 456; overhead = header (3 dwords, or 4 with 64-bit
    addresses) + framing, sequence and LCRC + ECRC if used: 20, 24 or 28 bytes. In generation 6 the
    FLIT replaces framing and LCRC, and 236 of the 242 bytes in `line_rate_gbs` hold packets.
    Link-layer packets are not counted: expect 2 to 5 % less (from memory).
    """
    if max_payload_bytes not in (128, 256, 512, 1024, 2048, 4096):
        raise ValueError(f"{max_payload_bytes} bytes is no payload size of PCI Express")
    overhead = header_dwords * _DWORD_BYTES + (_DWORD_BYTES if ecrc else 0)
    if _generation(generation).number < 6:
        overhead += _FRAMING_AND_LCRC_BYTES
        return max_payload_bytes / (max_payload_bytes + overhead)
    return FLIT_TLP_BYTES / FLIT_CODED_BYTES * max_payload_bytes / (max_payload_bytes + overhead)


def payload_limit_gbs(
    generation: int,
    width_lanes: int,
    max_payload_bytes: int = 256,
    *,
    header_dwords: int = 4,
    ecrc: bool = False,
) -> float:
    """The most GB/s of payload that one direction can carry: line rate × payload share.

    256 bytes is what most benches set (common practice, no source); a card's own setting is
    `ConfigurationSpace.max_payload_bytes`.
    """
    share = payload_share(
        generation, max_payload_bytes, header_dwords=header_dwords, ecrc=ecrc
    )
    return line_rate_gbs(generation, width_lanes) * share


def parse_speed_gts(text: str) -> float | NotMeasured:
    """GT/s from the kernel's words: ``8 GT/s``, ``8.0 GT/s PCIe``, ``Unknown``, ``Unknown speed``.

    The wording varies by kernel (drivers/pci/pci-sysfs.c, drivers/pci/probe.c).
    """
    match = _SPEED.fullmatch(text.strip())
    if match is None:
        return NotMeasured(LinkWordsReason.SPEED(words=_shown(text)))
    speed_gts = float(match.group(1))
    generation = generation_of_speed(speed_gts)
    return generation if isinstance(generation, NotMeasured) else speed_gts


def parse_width_lanes(text: str) -> int | NotMeasured:
    """Lanes from the kernel's words: ``16`` or ``x16``; 0 and 255 (unknown) are no width."""
    match = _WIDTH.fullmatch(text.strip())
    lanes = int(match.group(1)) if match else 0
    if 1 <= lanes <= 32:
        return lanes
    return NotMeasured(LinkWordsReason.WIDTH(words=_shown(text)))


def _shown(text: str) -> str:
    shown = text if len(text) <= 24 else text[:24] + "…"
    return "".join(letter if letter.isprintable() else "·" for letter in shown)


def _generation(number: int) -> Generation:
    if number not in GENERATIONS:
        raise ValueError(f"generation {number} is not known here; 1 to 6 are")
    return GENERATIONS[number]


def _lanes(width_lanes: int) -> int:
    if width_lanes < 1:
        raise ValueError(f"a link of {width_lanes} lanes carries nothing")
    return width_lanes
