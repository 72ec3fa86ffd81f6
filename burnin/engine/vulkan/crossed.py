"""Both ways at once where copies go one way and a kernel works the other, in one submission.

A queue's copies and kernels run at once only while nothing between them has to wait, and the
library has a kernel wait for all copies before it as soon as it touches a buffer that was copied
last. So there are two rings in the bench's memory, used in turn: blocks written into one in a slice
are taken up from the other in the next, and a ring is claimed for its kernel before copies begin.
"""

from __future__ import annotations

from burnin.engine.vulkan.link_kernels import Ring, Run
from burnin.engine.vulkan.link_slice import LinkSlice
from burnin.engine.vulkan.link_ways import Means


class Crossed:
    """Blocks of the stream that are down in one of two rings and not yet up.

    `number` is that of the next block; the first one's is told.
    """

    def __init__(self, rings: tuple[Ring, Ring], card: Ring, number: int) -> None:
        self._rings = rings
        self._card = card
        self.number = number
        self._slices = 0
        self._down: Run | None = None

    def prepare(self, work: LinkSlice) -> None:
        """Put down what the first slice takes up."""
        self._down = self._next(self._card.blocks)
        work.fill(self._down)

    def _next(self, blocks: int) -> Run:
        """As many further blocks of the stream, in the ring whose turn it is."""
        run = Run(self._rings[self._slices % 2], self.number, blocks)
        self._slices += 1
        self.number += blocks
        return run

    def record(self, work: LinkSlice, means: Means, blocks: int) -> int:
        """`blocks` go down, those of the slice before go up; how many were checked.

        The time of what is worked in the card's own memory counts too: a card with slow memory is
        not to take this way for the faster one.
        """
        assert self._down is not None
        up, down = self._down, self._next(blocks)
        self._down = down
        if means is Means.COPY_UP:
            arrived = Run(self._card, 0, up.blocks, named=up.number)
            work.claim(down.ring)
            work.mark(0)
            work.copy(up, arrived)
            work.fill(down)
            work.check(arrived, every_group=True)
            work.mark(1)
        else:
            source = Run(self._card, 0, blocks, named=down.number)
            work.mark(0)
            work.fill(source, every_group=True)
            work.claim(up.ring)
            work.copy(source, down)
            work.check(up)
            work.mark(1)
        return up.blocks
