"""Copies at the link's speed: the card itself reads, checks and writes blocks in host memory.

The blocks lie in a buffer that the bench can map for reading, which puts it into the bench's memory
(measured, see `link_ways.crosses_link`; one that is mapped for writing lay in the card's own).

``to_card``: blocks of known words are read, or copied, over the link and checked by the card.
``to_host``: new blocks are written, or copied, down; then the card reads those back that came down
LAG blocks before and checks them, and the way back is not counted. ``both``: a kernel checks such
blocks while it writes new ones. LAG blocks are more than a card's cache holds (see
`copier.host_block_bytes`), so that what is read back comes from the bench.
"""

from __future__ import annotations

import time
from functools import partial

from burnin.core.meaning import Term
from burnin.engine.device.meanings import WorkTerm
from burnin.engine.device.patterns import recipe
from burnin.engine.device.queued import QueuedCall
from burnin.engine.device.units import Moved
from burnin.engine.vulkan.gpu import Gpu
from burnin.engine.vulkan.link_kernels import LinkKernels, Ring, Run
from burnin.engine.vulkan.link_slice import LinkSlice
from burnin.engine.vulkan.link_ways import KERNELS, Way, WayTrial, ways_of

HOST_USES = ("MAP_READ", "STORAGE", "COPY_SRC", "COPY_DST")
CARD_USES = ("STORAGE", "COPY_SRC", "COPY_DST")
LAG = 4
HOST_RING = 2 * LAG + 1
"""Places of the ring: LAG blocks are read while LAG others are written, and one lies between."""
SLOTS = 3
TRIAL_ROUNDS = 3


class HostCopier:
    """See `burnin.engine.device.units.Copier`.

    `trials`: what each way reached before work began; `host_read_gbs`, `card_read_gbs`: how fast a
    kernel reads the ring in the bench's memory, and as much of the card's own.
    """

    largest_blocks = LAG

    def __init__(
        self,
        gpu: Gpu,
        direction: str,
        seed: int,
        block_bytes: int,
        ways: tuple[Way, ...] | None = None,
    ) -> None:
        """`ways` that are tried: all that the direction can take unless told."""
        ways = ways or ways_of(direction)
        self._gpu = gpu
        self._direction = direction
        self.block_bytes = block_bytes
        self._kernels = LinkKernels(gpu, recipe("pseudo_random", 0, seed))
        host = gpu.buffer(HOST_RING * block_bytes, *HOST_USES)
        self.host = Ring(host, HOST_RING, block_bytes)
        self.card = Ring(gpu.buffer(LAG * block_bytes, *CARD_USES), LAG, block_bytes)
        self._slots = [self._kernels.slot() for _ in range(SLOTS)]
        self._slices = self._came_down = self._went_up = 0
        self._last_end_s = 0.0
        self._way = ways[0]
        self._wrong_before = 0
        self.host_read_gbs, self.card_read_gbs = self.read_gbs(self.host), self.read_gbs(self.card)
        self._prepare()
        self.trials = tuple(self._tried(way) for way in ways)
        self._way = max(self.trials, key=lambda trial: trial.rate_gbs).way
        named = WorkTerm.COPIED_BLOCKS if self._way.by_copy else WorkTerm.KERNEL_BLOCKS
        self.blocks: Term = named(mib=block_bytes // 2**20)

    def _prepare(self) -> None:
        """Fill the ring, as far as blocks are read before any has come down.

        What these blocks find wrong counts; that they came down does not.
        """
        blocks = HOST_RING if self._direction == "to_card" else LAG
        work = self._new_slice(self._way)
        work.fill(Run(self.host, 0, blocks))
        work.submit()
        work.finish()
        self._came_down = blocks

    def _tried(self, way: Way) -> WayTrial:
        """The rate of a way; its first round only wakes the clocks. What is wrong is kept."""
        self._way = way
        best_gbs, wrong = 0.0, 0
        for number in range(TRIAL_ROUNDS):
            moved = self.copy(LAG).finish()
            wrong += moved.wrong_words
            size = max(moved.to_card_bytes, moved.to_host_bytes)
            if number:
                best_gbs = max(best_gbs, size / max(moved.seconds, 1e-9) / 1e9)
        self._wrong_before = wrong
        return WayTrial(way, best_gbs)

    def read_gbs(self, ring: Ring) -> float:
        """GB/s at which a kernel reads a ring of this copier: tells where it lies."""
        best_gbs, run = 0.0, Run(ring, 0, LAG)
        for _ in range(TRIAL_ROUNDS):
            began_s = time.perf_counter()
            work = self._new_slice(KERNELS[0])
            work.fill(run)
            work.mark(0)
            work.check(run)
            work.mark(1)
            work.submit()
            found = work.finish()
            self._wrong_before += found.wrong_words
            seconds = found.seconds or time.perf_counter() - began_s
            best_gbs = max(best_gbs, LAG * self.block_bytes / max(seconds, 1e-9) / 1e9)
        return best_gbs

    def _new_slice(self, way: Way) -> LinkSlice:
        slot = self._slots[self._slices % SLOTS]
        self._slices += 1
        return LinkSlice(self._gpu, self._kernels, slot, way.most_groups)

    def copy(self, blocks: int) -> QueuedCall[Moved]:
        """Copy `blocks` blocks each way that the traffic has."""
        start_s, work = time.perf_counter(), self._new_slice(self._way)
        if self._direction == "to_card":
            self._to_card(work, blocks)
        elif self._direction == "to_host":
            self._to_host(work, blocks)
        else:
            self._both(work, blocks)
        work.submit()
        return QueuedCall(partial(self._moved, work, blocks, start_s))

    def _to_card(self, work: LinkSlice, blocks: int) -> None:
        """The ring's blocks stay as they were made, so their numbers begin anew at its end."""
        first = self._went_up % HOST_RING
        parts = self._unbroken(Run(self.host, first, blocks))
        self._went_up += blocks
        work.mark(0)
        if self._way.by_copy:
            arrived = 0
            for part in parts:
                work.copy(part, Run(self.card, arrived, part.blocks))
                arrived += part.blocks
        else:
            for part in parts:
                work.check(part)
        work.mark(1)
        if self._way.by_copy:
            arrived = 0
            for part in parts:
                work.check(Run(self.card, arrived, part.blocks, named=part.number))
                arrived += part.blocks

    def _unbroken(self, run: Run) -> tuple[Run, ...]:
        """The run in parts that do not go past the ring's end."""
        before = min(run.blocks, HOST_RING - run.number)
        if before == run.blocks:
            return (run,)
        return Run(run.ring, run.number, before), Run(run.ring, 0, run.blocks - before)

    def _to_host(self, work: LinkSlice, blocks: int) -> None:
        up, down = self._up_and_down(blocks)
        if self._way.by_copy:
            source = Run(self.card, 0, blocks, named=down.number)
            work.fill(source)
            work.mark(0)
            work.copy(source, down)
        else:
            work.mark(0)
            work.fill(down)
        work.mark(1)
        work.check(up)

    def _both(self, work: LinkSlice, blocks: int) -> None:
        up, down = self._up_and_down(blocks)
        work.mark(0)
        work.check_and_fill(up, down)
        work.mark(1)

    def _up_and_down(self, blocks: int) -> tuple[Run, Run]:
        """What is checked, and what comes down LAG blocks further on."""
        up = Run(self.host, self._went_up, blocks)
        down = Run(self.host, self._came_down, blocks)
        self._went_up += blocks
        self._came_down += blocks
        return up, down

    def _moved(self, work: LinkSlice, blocks: int, start_s: float) -> Moved:
        """Of what comes down, what is checked in this slice is what is counted."""
        found = work.finish()
        end_s = time.perf_counter()
        seconds = found.seconds
        if seconds is None:
            seconds = end_s - max(start_s, self._last_end_s)
        self._last_end_s = end_s
        wrong, self._wrong_before = found.wrong_words + self._wrong_before, 0
        size = blocks * self.block_bytes
        return Moved(
            size if self._direction != "to_host" else 0,
            size if self._direction != "to_card" else 0,
            seconds,
            wrong,
        )

    def release(self) -> None:
        """Give its memory back."""
        for ring in (self.host, self.card):
            ring.buffer.destroy()
        for slot in self._slots:
            slot.release()
