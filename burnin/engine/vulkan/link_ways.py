"""The ways that blocks can take between the bench's memory and the card, and which one is faster.

Which is faster differs from card to card and cannot be looked up: each way is tried.

Not tried, for they were no faster on a data-centre card (H200, generation Hopper, PCI Express 5.0,
16 lanes), where one kernel that checks and writes with 32 to 256 workgroups reached 41.3 to 42.1
GB/s each way at once: eight vec4 of an invocation under way in place of four (40.9 to 42.0),
workgroups that only check beside others that only write (27 to 38), and copies one way while a
kernel works the other (25.7 to 25.8, for the two never overlap in one queue).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Way:
    """By copies between the bench's memory and the card's, or by kernels that work on the bench's.

    `most_groups`: workgroups that a kernel starts at most, each then taking many tiles; 0: one for
    every tile.
    """

    by_copy: bool
    most_groups: int = 0

    def __str__(self) -> str:
        if self.by_copy:
            return "copies"
        return f"kernel, {self.most_groups or 'all'} groups"


KERNELS = (Way(False), Way(False, 1024), Way(False, 256))
COPIES = Way(True)
BOTH = (Way(False, 32), Way(False, 128), Way(False, 256))
"""Both ways at once; more workgroups were slower (1024: 40.8 GB/s, one for every tile: 40.4)."""


def ways_of(direction: str) -> tuple[Way, ...]:
    """The ways that are tried; copies of one queue never run both ways at once."""
    return BOTH if direction == "both" else (*KERNELS, COPIES)


@dataclass(frozen=True)
class WayTrial:
    """What a way reached when it was tried: GB/s, each way where it went both ways."""

    way: Way
    rate_gbs: float


FASTEST_LINK_GBS = 130.0
"""Sixteen lanes at 64 GT/s carry 128 GB/s (PCI Express 6.0): nothing faster crossed a slot."""
OF_CARD_RATE = 0.25
"""A kernel that reads over the link is at most this fast beside the card's own memory: no card's
memory is less than four times as fast as its slot."""


def crosses_link(host_gbs: float, card_gbs: float) -> bool:
    """Whether memory that was read at `host_gbs` lies beyond the link, and not in the card.

    `card_gbs`: what the same kernel reads of the card's own memory.
    """
    return host_gbs <= min(FASTEST_LINK_GBS, OF_CARD_RATE * card_gbs)
