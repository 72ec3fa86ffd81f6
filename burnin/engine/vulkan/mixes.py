"""Mixes of work: how much arithmetic stands beside each access to memory, and in which workgroups.

Which mix draws most power differs from card to card (measured on one, in watts of 700: one thread
that does all 543, two roles 592); so there is a small table.
"""

from __future__ import annotations

from dataclasses import dataclass

ACCESSES = 16
CHAIN_OPERATIONS = 4 * 4 * 2
"""One step of four chains of vec4: a multiply and an add each."""


@dataclass(frozen=True)
class Mix:
    """Of `stream_of` workgroups one streams memory; the others work `alone` steps an access.

    `singles`, `halves`: steps of fp32 and half chains beside an access; `shares`: reads of
    workgroup memory beside it.
    """

    stream_of: int
    singles: int
    halves: int
    shares: int
    alone: int

    def constants(self) -> dict[str, float]:
        """The kernel's constants."""
        return {
            "stream_of": self.stream_of, "singles": self.singles, "halves": self.halves,
            "shares": self.shares, "alone": self.alone,
        }  # fmt: skip

    def operations(self, groups: int, lanes: int) -> float:
        """Multiplies and adds of one round."""
        streamers = -(-groups // self.stream_of)
        beside = (self.singles + self.halves) * streamers
        steps = beside + self.alone * (groups - streamers)
        return float(steps * ACCESSES * CHAIN_OPERATIONS * lanes)

    def __str__(self) -> str:
        return (
            f"1 of {self.stream_of} streams with {self.singles} fp32, {self.halves} half steps, "
            f"{self.shares} shared reads; others {self.alone} steps"
        )


MIXES = (
    Mix(stream_of=2, singles=2, halves=2, shares=1, alone=6),
    Mix(stream_of=2, singles=1, halves=1, shares=1, alone=8),
    Mix(stream_of=2, singles=4, halves=4, shares=2, alone=8),
    Mix(stream_of=2, singles=2, halves=2, shares=1, alone=12),
    Mix(stream_of=3, singles=1, halves=1, shares=1, alone=4),
    Mix(stream_of=1, singles=2, halves=2, shares=1, alone=0),
)
"""Tried in this order; the first is worked where nothing tells the power."""
