"""The ways that blocks can take between the bench's memory and the card, and which one is faster.

Which is faster differs from card to card and cannot be looked up: each way is tried.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Means(StrEnum):
    """What moves the blocks."""

    COPIES = "copies"
    KERNEL = "kernel"
    """Both ways: each workgroup checks one tile and writes another."""
    ROLES = "two roles"
    """Both ways: some workgroups only check, the others only write."""
    COPY_UP = "copies up, kernel down"
    """Both ways. A copy asks for many bytes at a time, a kernel for lines of 128; each question
    takes room on the way down, which is then free for what is written."""
    COPY_DOWN = "kernel up, copies down"


@dataclass(frozen=True)
class Way:
    """By copies between the bench's memory and the card's, or by kernels that work on the bench's.

    `most_groups`: workgroups that a kernel starts at most, each then taking many tiles; 0: one for
    every tile. `deep`: eight vec4 of each invocation are under way at once, else four. `readers`,
    `writers`: workgroups of each role among so many of both.
    """

    means: Means
    most_groups: int = 0
    deep: bool = False
    readers: int = 1
    writers: int = 1

    @property
    def crossed(self) -> bool:
        """Whether copies go one way and a kernel works the other."""
        return self.means in (Means.COPY_UP, Means.COPY_DOWN)

    @property
    def both_kernel(self) -> str:
        """The kernel that checks and writes, where one does both."""
        kernel = "check_or_fill" if self.means is Means.ROLES else "check_and_fill"
        return kernel + ("_deep" if self.deep else "")

    def __str__(self) -> str:
        if self.means is Means.COPIES:
            return str(self.means)
        roles = f" {self.readers}:{self.writers}" if self.means is Means.ROLES else ""
        depth = ", 8 deep" if self.deep else ""
        return f"{self.means}{roles}, {self.most_groups or 'all'} groups{depth}"


def _kernels(*groups: int, deep: bool = False) -> tuple[Way, ...]:
    return tuple(Way(Means.KERNEL, count, deep) for count in groups)


KERNELS = _kernels(0, 1024, 256)
COPIES = Way(Means.COPIES)
BOTH = (
    *_kernels(256, 128),
    Way(Means.ROLES, 128),
    Way(Means.ROLES, 256),
    Way(Means.COPY_UP, 256),
    Way(Means.COPY_DOWN, 256),
)
"""Tried before work both ways begins: few, so that it begins soon."""
BOTH_CANDIDATES = (
    *_kernels(0, 1024, 512, 256, 192, 132, 128, 64, 32),
    *_kernels(256, 128, 64, 32, deep=True),
    *(
        Way(Means.ROLES, groups, deep, readers, writers)
        for groups in (256, 128, 64)
        for deep in (False, True)
        for readers, writers in ((1, 1), (2, 1), (1, 2))
    ),
    *(
        Way(means, groups)
        for means in (Means.COPY_UP, Means.COPY_DOWN)
        for groups in (0, 1024, 256, 128, 64, 32)
    ),
)
"""All that are thought of, to find better ones for `BOTH`."""


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
