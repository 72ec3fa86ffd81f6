"""What every EDID block shares: its size, where its checksum lies, how a fault in it is told."""

from __future__ import annotations

from dataclasses import dataclass

from burnin.card.edid.reasons import EdidReason
from burnin.core.meaning import Reason

BLOCK_BYTES = 128
DESCRIPTOR_BYTES = 18
CHECKSUM = 127  # E-EDID 1.4, 3.11


@dataclass(frozen=True)
class EdidProblem:
    """Something wrong: at which byte, the bytes themselves, and what they should have been."""

    offset: int
    hex: str
    what: Reason

    def told(self) -> Reason:
        """All three as one reason."""
        if not self.hex:
            return EdidReason.AT_BYTE_ALONE(byte=self.offset, what=self.what)
        return EdidReason.AT_BYTE(byte=self.offset, hex_bytes=self.hex, what=self.what)
