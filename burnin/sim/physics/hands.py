"""A hand on the simulated card: one place at a time is moved to and fro, and bends what is there.

A movement goes from nothing to all of it and back once a second, as a person's does (estimate).
"""

from __future__ import annotations

_ONCE_S = 1.0
OPENS_AT = 0.5
"""Share of the movement from which on a joint that gives is open (estimate)."""


class Hands:
    """Where the technician's hands are; nothing on the card knows of them but what they move."""

    def __init__(self) -> None:
        self._place = ""
        self._from_s = self._to_s = 0.0

    def move(self, place: str, from_s: float, for_s: float) -> None:
        """Move a place from a moment on, for so long; what was moved before is let go."""
        self._place, self._from_s, self._to_s = place, from_s, from_s + for_s

    def moved(self, time_s: float) -> dict[str, float]:
        """How far each place is moved at a moment, 0 to 1; a place that is not there rests."""
        if not self._from_s <= time_s < self._to_s:
            return {}
        phase = (time_s - self._from_s) % _ONCE_S / _ONCE_S
        return {self._place: 1.0 - abs(2.0 * phase - 1.0)}
