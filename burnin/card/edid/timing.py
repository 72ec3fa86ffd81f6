"""Detailed timings: the 18 bytes in which a monitor describes one mode."""

from __future__ import annotations

from dataclasses import dataclass

from burnin.card.edid.reasons import EdidTerm
from burnin.core.meaning import Term

CLOCK_STEP_HZ = 10_000


@dataclass(frozen=True)
class Mode:
    """One picture format; `refresh_hz` counts fields where the mode is interlaced."""

    width_px: int
    height_px: int
    refresh_hz: float
    pixel_clock_hz: int
    interlaced: bool = False

    @property
    def plausible(self) -> bool:
        """Whether such a picture can exist: it has an area and a refresh rate."""
        return self.width_px > 0 and self.height_px > 0 and self.refresh_hz > 0

    def term(self) -> Term:
        """The mode as a meaning, for a catalogue to word."""
        kind = EdidTerm.MODE_INTERLACED if self.interlaced else EdidTerm.MODE
        return kind(
            width_px=self.width_px, height_px=self.height_px, refresh_hz=self.refresh_hz
        )

    def __str__(self) -> str:
        letter = "i" if self.interlaced else ""
        return f"{self.width_px}×{self.height_px}{letter} at {self.refresh_hz:.2f} Hz"


def detailed_mode(raw: bytes) -> Mode | None:
    """The mode in 18 bytes, None where they hold another kind of descriptor.

    VESA E-EDID 1.4, table 3.21: pixel clock in 10 kHz steps in bytes 0 and 1; active and blanking
    pixels in 2 to 4, lines in 5 to 7, low bytes first and the upper four bits shared; byte 17 bit 7
    is interlace, where lines are those of one field.
    refresh = pixel clock / (pixels in a line × lines in a field), a field of an interlaced picture
    being half a line longer.
    """
    if len(raw) < 18:
        return None
    clock_hz = int.from_bytes(raw[0:2], "little") * CLOCK_STEP_HZ
    if clock_hz == 0:
        return None
    width = raw[2] | (raw[4] & 0xF0) << 4
    blank_px = raw[3] | (raw[4] & 0x0F) << 8
    lines = raw[5] | (raw[7] & 0xF0) << 4
    blank_lines = raw[6] | (raw[7] & 0x0F) << 8
    interlaced = bool(raw[17] & 0x80)
    line_px = width + blank_px
    field_lines = lines + blank_lines + (0.5 if interlaced else 0.0)
    refresh_hz = clock_hz / (line_px * field_lines) if line_px and lines + blank_lines else 0.0
    height = 2 * lines if interlaced else lines
    return Mode(width, height, refresh_hz, clock_hz, interlaced)
