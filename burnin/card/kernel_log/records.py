"""A record of the kernel's log taken apart.

Format: Documentation/ABI/testing/dev-kmsg of Linux: ``prefix;text``, the prefix being priority
(facility × 8 + level), sequence number, microseconds since start and flags, parted by commas; lines
that begin with a space hold what else is known, ``DEVICE=+pci:0000:01:00.0`` among it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

ERROR_LEVEL = 3
"""KERN_ERR of include/linux/kern_levels.h; lower numbers are worse."""
_FACILITY_STEP = 8
_HEAD = re.compile(r"(\d{1,10}),(\d{1,20}),(\d{1,20}),[^;]*;(.*)", re.ASCII)
_ESCAPED = re.compile(r"\\x([0-9a-f]{2})", re.ASCII)
MOST_CHARACTERS = 400
"""Of a line's text; the kernel's own limit is 1,024 bytes, a sheet has less room."""


@dataclass(frozen=True)
class KernelRecord:
    """One record: `level` 0 (worst) to 7, `sequence` None where the source has none.

    `device` is the device that the kernel tags it with (``pci:0000:01:00.0``), empty for none.
    """

    text: str
    level: int
    sequence: int | None = None
    device: str = ""


def parse_record(data: bytes) -> KernelRecord | None:
    """A record as ``/dev/kmsg`` gives it; None for bytes that are none.

    >>> parse_record(b"3,1184,60215,-;pcieport 0000:00:01.0: pciehp: Slot(1): Link Down")
    KernelRecord(text='pcieport 0000:00:01.0: pciehp: Slot(1): Link Down', level=3, \
sequence=1184, device='')
    """
    first, *more = data.decode("utf-8", errors="replace").splitlines() or [""]
    head = _HEAD.fullmatch(first)
    if head is None:
        return None
    device = ""
    for line in more:
        key, _, value = line.strip().partition("=")
        if key == "DEVICE":
            device = value.lstrip("+")
    level = int(head.group(1)) % _FACILITY_STEP
    return KernelRecord(clean(head.group(4)), level, int(head.group(2)), device)


def clean(text: str) -> str:
    """A line's text, escapes undone, without characters that cannot be shown, not too long."""
    told = _ESCAPED.sub(lambda found: chr(int(found.group(1), 16)), text)
    shown = "".join(c if c.isprintable() else " " for c in told)
    return " ".join(shown.split())[:MOST_CHARACTERS]
