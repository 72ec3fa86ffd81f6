"""How long a ramp that plans itself has rested, and whether it may rest on."""

from __future__ import annotations

import math

from burnin.thermal.inputs import Row

COOLS_WITHIN_S = 90.0
"""A resting card that has not become a kelvin cooler for so long is as cool as it gets."""


class Rests:
    """Counts the seconds of all rests of a ramp; at most `most_s` of them."""

    def __init__(self, most_s: float) -> None:
        self._most_s, self._ends_s = most_s, math.inf
        self.rested_s = 0.0
        self.resting = False
        self._coolest = (0.0, math.inf)

    @property
    def left_s(self) -> float:
        """How long it may still rest."""
        return self._most_s - self.rested_s

    def count(self, row: Row, last_s: float | None) -> None:
        """The time since the last row, where that was one of rest."""
        if self.resting and last_s is not None:
            self.rested_s += row.time_s - last_s

    def begin(self, row: Row, most_s: float | None = None) -> None:
        """Rest from this row on; on a warning for `most_s`, whatever was allowed before."""
        self.resting = True
        if most_s is not None:
            self._ends_s = row.time_s + most_s
            self._most_s = max(self._most_s, self.rested_s + most_s)

    def end(self) -> None:
        """A step begins."""
        self.resting, self._ends_s = False, math.inf

    def may_last(self, row: Row) -> bool:
        """Whether the rest may go on after this row."""
        return self.left_s > 0.0 and row.time_s < self._ends_s

    def still_cools(self, row: Row) -> bool:
        """Whether resting on makes the card cooler, and may go on."""
        if row.die_c < self._coolest[1]:
            self._coolest = (row.time_s, row.die_c)
        within = row.time_s - self._coolest[0] < COOLS_WITHIN_S
        return within and self.left_s > 0.0
