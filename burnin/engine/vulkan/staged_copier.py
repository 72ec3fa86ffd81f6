"""Copies through the library's own staging, verified; far from the link's speed.

For adapters whose kernels cannot work on the bench's memory (`copier.py` chooses).
What goes up is checked by the card, what comes down by the bench's processor. Contents change
from slice to slice, so that a copy that did not happen is found.
"""

from __future__ import annotations

import time
from functools import partial
from typing import TYPE_CHECKING, Any

from burnin.core.meaning import Term
from burnin.engine.device.area import AreaWanted, Findings, Span
from burnin.engine.device.meanings import WorkTerm
from burnin.engine.device.patterns import recipe
from burnin.engine.device.queued import Queued, QueuedCall
from burnin.engine.device.recipes import Recipe, words_of
from burnin.engine.device.units import Moved
from burnin.engine.vulkan.area import VulkanArea
from burnin.engine.vulkan.gpu import Gpu

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

BLOCK_WORDS = 1 << 18
STAGING = 3


class StagedCopier:
    """See `burnin.engine.device.units.Copier`."""

    block_bytes = BLOCK_WORDS * 4

    def __init__(self, gpu: Gpu, direction: str, blocks: int, seed: int) -> None:
        import numpy as np

        self._gpu = gpu
        self._up = direction in ("to_card", "both")
        self._down = direction in ("to_host", "both")
        self.largest_blocks = blocks
        words = blocks * BLOCK_WORDS
        self._rules: list[Recipe] = [recipe("pseudo_random", step, seed) for step in (0, 1)]
        addresses = np.arange(words, dtype=np.uint64)
        self._content: list[NDArray[np.uint32]] = [words_of(r, addresses) for r in self._rules]
        uses = ("STORAGE", "COPY_SRC", "COPY_DST")
        self._target = gpu.buffer(words * 4, *uses)
        self._source = gpu.buffer(words * 4, *uses)
        used = AreaWanted(1.0, kinds=frozenset({self._rules[0].kind}), marched=frozenset())
        self._arrived = VulkanArea(gpu, [self._target], used)
        self._sent = VulkanArea(gpu, [self._source], used)
        count = STAGING if self._down else 0
        self._staging = [gpu.buffer(words * 4, "MAP_READ", "COPY_DST") for _ in range(count)]
        self._slices = 0
        self._last_end_s = 0.0
        self.blocks: Term = WorkTerm.STAGED_BLOCKS(mib=self.block_bytes // 2**20)

    def copy(self, blocks: int) -> QueuedCall[Moved]:
        """Copy `blocks` blocks each way that the traffic has."""
        start_s = time.perf_counter()
        turn = self._slices % 2
        words = blocks * BLOCK_WORDS
        checked: Queued[Findings] | None = None
        if self._up:
            self._gpu.upload(self._target, self._content[turn][:words])
            checked = self._arrived.check(self._rules[turn], Span(0, words))
        staging = None
        if self._down:
            staging = self._staging[self._slices % STAGING]
            self._sent.write(self._rules[turn], Span(0, words)).finish()
            encoder = self._gpu.encoder()
            encoder.copy_buffer_to_buffer(self._source, 0, staging, 0, words * 4)
            self._gpu.submit(encoder)
        self._slices += 1
        return QueuedCall(partial(self._moved, turn, words, checked, staging, start_s))

    def _moved(
        self,
        turn: int,
        words: int,
        checked: Queued[Findings] | None,
        staging: Any,
        start_s: float,
    ) -> Moved:
        wrong = 0
        if checked is not None:
            found = checked.finish()
            wrong += max(len(found.addresses), VulkanArea.list_words * found.overflow)
        if staging is not None:
            wrong += self._wrong_on_host(staging, turn, words)
        end_s = time.perf_counter()
        seconds = end_s - max(start_s, self._last_end_s)
        self._last_end_s = end_s
        size = words * 4
        return Moved(size * self._up, size * self._down, seconds, wrong)

    def _wrong_on_host(self, staging: Any, turn: int, words: int) -> int:
        import numpy as np

        self._gpu.mapped(staging)
        view = np.frombuffer(staging.read_mapped(0, words * 4, copy=False), np.uint32)
        expected = self._content[turn][:words]
        wrong = 0 if np.array_equal(view, expected) else int(np.count_nonzero(view != expected))
        del view
        staging.unmap()
        return wrong

    def release(self) -> None:
        """Give its memory back."""
        self._arrived.release()
        self._sent.release()
        for buffer in self._staging:
            buffer.destroy()
