"""What every EDID block shares: its size, where its checksum lies, how a fault in it is told."""

from __future__ import annotations

from dataclasses import dataclass

BLOCK_BYTES = 128
DESCRIPTOR_BYTES = 18
CHECKSUM = 127  # E-EDID 1.4, 3.11


@dataclass(frozen=True)
class EdidProblem:
    """Something wrong: at which byte, the bytes themselves, and what they should have been."""

    offset: int
    hex: str
    what: str

    def __str__(self) -> str:
        shown = f" ({self.hex})" if self.hex else ""
        return f"byte {self.offset}{shown}: {self.what}"
