"""Copies between pinned host memory and card, both ways at once, every byte verified on the card.

Two rules alternate from block to block, and every ring has an odd number of places, so that a copy
that did not happen leaves the other rule's words behind and is found.

``to_card``: blocks of known words go up and are checked. ``both``: what came down goes up again two
blocks later and is checked, so an error of either direction shows. ``to_host``: the same, one way
after the other; the way up is not counted.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Any

from burnin.core.meaning import Term
from burnin.engine.cuda.card import CudaCard, PinnedWords
from burnin.engine.cuda.memory_kernels import COUNT_WORDS, FoundBuffers, MemoryKernels
from burnin.engine.device.area import EVERY_TILE
from burnin.engine.device.meanings import WorkTerm
from burnin.engine.device.patterns import recipe
from burnin.engine.device.queued import QueuedCall
from burnin.engine.device.recipes import Recipe
from burnin.engine.device.units import Moved

BLOCK_S = 0.0013
"""Time that a block aims at: long beside the gap between two copies, short beside a slice."""
SMALLEST_BLOCK_BYTES = 1 << 18
LARGEST_BLOCK_BYTES = 1 << 26
TRIAL_BYTES = 1 << 22
HOST_RING = 9
CARD_RING = 7
LAG = 4
LARGEST_BLOCKS = 32
SLOTS = 4
PUT_BLOCKS, PUT_THREADS = 4, 512
"""Enough to fill the link, on few of the card's processors."""


@dataclass(frozen=True)
class _Slice:
    """One slice: timed stretches that follow one another, each of copies that ran side by side."""

    stretches: tuple[tuple[tuple[Any, Any], ...], ...]
    checked: Any
    blocks: int
    slot: int


class CudaCopier:
    """See `burnin.engine.device.units.Copier`."""

    largest_blocks = LARGEST_BLOCKS

    def __init__(
        self, card: CudaCard, direction: str, seed: int, *, beside: bool = False
    ) -> None:
        """`beside`: arithmetic works at the same time, and is to be left its cache."""
        self._card = card
        self._direction = direction
        self._put = card.kernel("link", "put") if beside else None
        self._rules: list[Recipe] = [recipe("pseudo_random", step, seed) for step in (0, 1)]
        self._kernels = MemoryKernels(card)
        self._up, self._down, self._checks = (card.new_stream() for _ in range(3))
        self._found = [FoundBuffers(card, 1024, 1 << 16) for _ in range(SLOTS)]
        self._counts = [PinnedWords(card, COUNT_WORDS * 4) for _ in range(SLOTS)]
        self.block_bytes = self._fitting_block()
        self._block_words = self.block_bytes // 4
        self._sources = [card.allocate(self.block_bytes) for _ in self._rules]
        self._targets = [card.allocate(self.block_bytes) for _ in range(CARD_RING)]
        self._host = [PinnedWords(card, self.block_bytes) for _ in range(HOST_RING)]
        self._target_free: list[Any] = [None] * CARD_RING
        self._host_full: list[Any] = [None] * HOST_RING
        self._host_free: list[Any] = [None] * HOST_RING
        self._went_up = self._came_down = self._slices = 0
        self._last_end: Any = None
        self.blocks: Term = WorkTerm.PINNED_BLOCKS(kib=self.block_bytes // 2**10)
        self._prepare()

    def _fitting_block(self) -> int:
        """Bytes of a block, a power of two, by how long a small copy takes on this link."""
        card, seconds = self._card, float("inf")
        pointer, host = card.allocate(TRIAL_BYTES), PinnedWords(card, TRIAL_BYTES)
        for _ in range(3):
            start = card.event(self._up, timed=True)
            card.copy(pointer, host.pointer, TRIAL_BYTES, self._up)
            end = card.event(self._up, timed=True)
            card.wait(end)
            seconds = min(seconds, card.seconds_between(start, end))
        card.free(pointer)
        wanted = int(TRIAL_BYTES * BLOCK_S / max(seconds, 1e-6))
        fitting = 1 << max(1, wanted).bit_length() - 1
        return max(SMALLEST_BLOCK_BYTES, min(LARGEST_BLOCK_BYTES, fitting))

    def _prepare(self) -> None:
        """Fill the sources on the card, and the host's ring from them."""
        card = self._card
        for rule, pointer in zip(self._rules, self._sources, strict=True):
            self._kernels.queue(
                "write_pattern", pointer, 0, self._block_words, rule, rule, self._found[0],
                tiles=EVERY_TILE, stream=card.stream,
            )
        written = card.event()
        card.follow(self._down, written)
        blocks = 2 if self._direction == "to_card" else LAG
        for _ in range(blocks):
            self._bring_down()
        card.call(self._down.synchronize)

    def _bring_down(self) -> None:
        """Queue one block from card to host."""
        card, place = self._card, self._came_down % HOST_RING
        if self._host_free[place] is not None:
            card.follow(self._down, self._host_free[place])
        source = self._sources[self._came_down % 2]
        self._queue_down(self._host[place].pointer, source)
        self._host_full[place] = card.event(self._down)
        self._came_down += 1

    def _queue_down(self, target: int, source: int) -> None:
        """By the copy engine, the faster way; but what it reads halves matrix products beside it
        (measured), and a kernel of few threads does not."""
        if self._put is None:
            self._card.copy(target, source, self.block_bytes, self._down)
            return
        import numpy as np

        vectors = np.uint64(self.block_bytes // 16)
        arguments = (np.uint64(target), np.uint64(source), vectors)
        self._card.launch(
            self._put, (PUT_BLOCKS,), arguments, self._down, threads=PUT_THREADS
        )

    def _send_up(self, found: FoundBuffers) -> None:
        """Queue one block from host to card, and its check on a stream of its own."""
        card, number = self._card, self._went_up
        known = self._direction == "to_card"
        place = number % 2 if known else number % HOST_RING
        target = number % CARD_RING
        if not known:
            card.follow(self._up, self._host_full[place])
        if self._target_free[target] is not None:
            card.follow(self._up, self._target_free[target])
        card.copy(self._targets[target], self._host[place].pointer, self.block_bytes, self._up)
        arrived = card.event(self._up)
        self._host_free[place] = arrived
        card.follow(self._checks, arrived)
        rule = self._rules[number % 2]
        self._kernels.queue(
            "check_pattern", self._targets[target], 0, self._block_words, rule, rule, found,
            tiles=EVERY_TILE, stream=self._checks,
        )
        self._target_free[target] = card.event(self._checks)
        self._went_up += 1

    def copy(self, blocks: int) -> QueuedCall[Moved]:
        """Copy `blocks` blocks each way that the traffic has."""
        card, slot = self._card, self._slices % SLOTS
        self._slices += 1
        found = self._found[slot]
        card.clear(found.counts, COUNT_WORDS * 4, stream=self._checks)
        if self._direction == "to_host":
            stretches = self._down_then_up(blocks, found)
        else:
            stretches = (self._side_by_side(blocks, found),)
        card.copy(self._counts[slot].pointer, found.counts, COUNT_WORDS * 4, self._checks)
        queued = _Slice(stretches, card.event(self._checks), blocks, slot)
        come = partial(card.has_come, queued.checked)
        return QueuedCall(partial(self._moved, queued), come)

    def _side_by_side(self, blocks: int, found: FoundBuffers) -> tuple[tuple[Any, Any], ...]:
        """Blocks go up, and down at the same time where the traffic has both ways."""
        card, both = self._card, self._direction == "both"
        streams = (self._up, self._down) if both else (self._up,)
        starts = [card.event(stream, timed=True) for stream in streams]
        for _ in range(blocks):
            if both:
                self._bring_down()
            self._send_up(found)
        ends = [card.event(stream, timed=True) for stream in streams]
        return tuple(zip(starts, ends, strict=True))

    def _down_then_up(
        self, blocks: int, found: FoundBuffers
    ) -> tuple[tuple[tuple[Any, Any], ...], ...]:
        """As many blocks as the ring holds come down, then go up to be checked; and so on."""
        card, stretches, left = self._card, [], blocks
        while left:
            now = min(left, HOST_RING - LAG)
            left -= now
            card.follow(self._down, card.event(self._up))
            start = card.event(self._down, timed=True)
            for _ in range(now):
                self._bring_down()
            end = card.event(self._down, timed=True)
            stretches.append(((start, end),))
            card.follow(self._up, end)
            for _ in range(now):
                self._send_up(found)
        return tuple(stretches)

    def _moved(self, queued: _Slice) -> Moved:
        card, seconds = self._card, 0.0
        card.wait(queued.checked)
        for stretch in queued.stretches:
            seconds += self._lasted(stretch)
        size = queued.blocks * self.block_bytes
        wrong = int(self._counts[queued.slot].words[0])
        return Moved(
            size if self._direction != "to_host" else 0,
            size if self._direction != "to_card" else 0,
            seconds,
            wrong,
        )

    def _lasted(self, stretch: tuple[tuple[Any, Any], ...]) -> float:
        """Seconds that a stretch adds: two ways at once reach into the stretch before, and that
        time is not counted twice."""
        card = self._card
        for _, end in stretch:
            card.wait(end)
        seconds = max(card.seconds_between(*pair) for pair in stretch)
        if len(stretch) > 1:
            start = stretch[0][0]
            last = max((end for _, end in stretch), key=lambda e: card.seconds_between(start, e))
            if self._last_end is not None:
                seconds = min(seconds, card.seconds_between(self._last_end, last))
            self._last_end = last
        return seconds

    def release(self) -> None:
        """Give its memory back."""
        for stream in (self._up, self._down, self._checks):
            self._card.call(stream.synchronize)
        for pointer in (*self._sources, *self._targets):
            self._card.free(pointer)
        for found in self._found:
            found.release()
        self._host.clear()
