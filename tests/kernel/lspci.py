"""What lspci prints, taken apart (pciutils 3.9): the outside word on a device."""

from __future__ import annotations

import re

_SIZES = {"K": 1 << 10, "M": 1 << 20, "G": 1 << 30, "": 1}


def machine_readable(text: str) -> dict[str, str]:
    """Fields of ``lspci -vmmnnk``, the bracketed number of each where it has one."""
    fields = dict(line.split(":\t", 1) for line in text.splitlines() if ":\t" in line)
    numbers = {name: re.search(r"\[([0-9a-f]{4})\]$", value) for name, value in fields.items()}
    return {name: m.group(1) if (m := numbers[name]) else fields[name] for name in fields}


def regions(text: str) -> list[tuple[int, int, bool]]:
    """Number, bytes and whether it is prefetchable, of each memory region."""
    found = re.findall(
        r"Region (\d): Memory at \S+ \(\S+ (non-)?prefetchable\) \[size=(\d+)([KMG]?)\]", text
    )
    return [(int(n), int(size) * _SIZES[unit], not non) for n, non, size, unit in found]


def link(text: str, line: str) -> tuple[float, int]:
    """Speed in GT/s and lanes of ``LnkCap`` or ``LnkSta``."""
    found = re.search(rf"{line}:.*?Speed ([\d.]+)GT/s.*?Width x(\d+)", text)
    assert found is not None, text
    return float(found.group(1)), int(found.group(2))


def dump(text: str) -> bytes:
    """The bytes of ``lspci -xxxx``."""
    lines = re.findall(r"^[0-9a-f]{2,3}: ((?:[0-9a-f]{2} ?)+)$", text, re.MULTILINE)
    return bytes.fromhex("".join(lines))
