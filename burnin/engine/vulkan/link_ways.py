"""The ways that blocks can take between the bench's memory and the card, and which one is faster.

Which is faster differs from card to card and cannot be looked up: each way is tried.
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


def ways_of(direction: str) -> tuple[Way, ...]:
    """The ways that a direction can take; copies of one queue never run both ways at once."""
    return KERNELS if direction == "both" else (*KERNELS, COPIES)


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
