"""What the plain API reaches in the same process: the ceilings beside which an engine is put.

Rates in GB/s (10^9 bytes a second). Each is the best of several rounds: a ceiling is a ceiling.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

IN_A_ROW = 4
"""Passes over memory queued in a row, so that starting and waiting once weigh little."""


@dataclass(frozen=True)
class Ceilings:
    """Rates of a card: set memory, read it, copy inside it."""

    set_gbs: float
    read_gbs: float
    copy_gbs: float


def best_s(work: Callable[[], None], rounds: int = 7) -> float:
    """Shortest of `rounds` rounds, after one that is not counted."""
    work()
    taken = []
    for _ in range(rounds):
        began_s = time.perf_counter()
        work()
        taken.append(time.perf_counter() - began_s)
    return min(taken)


def cuda_ceilings(address: str, size: int = 16 * 2**30) -> Ceilings:
    """Through the CUDA runtime alone; `read_gbs` by a kernel that only reads."""
    import numpy as np

    from burnin.engine.cuda.card import CudaCard
    from burnin.engine.cuda.memory_kernels import TILES_PER_BLOCK

    card = CudaCard(address)
    free, _ = card.memory()
    size = min(size, free // 3) // 2**20 * 2**20
    one, two = card.allocate(size), card.allocate(size)
    tiles = size // 4096
    reader = card.kernel("memory", "read_only")

    def settled(queue: Callable[[], None]) -> Callable[[], None]:
        def work() -> None:
            for _ in range(IN_A_ROW):
                queue()
            card.stream.synchronize()

        return work

    def read() -> None:
        arguments = (np.uint64(one), np.uint64(tiles), np.uint64(two))
        card.launch(reader, (tiles // TILES_PER_BLOCK,), arguments)

    set_s = best_s(settled(lambda: card.clear(one, size, 0x5A))) / IN_A_ROW
    read_s = best_s(settled(read)) / IN_A_ROW
    copy_s = best_s(settled(lambda: card.copy(two, one, size))) / IN_A_ROW
    found = Ceilings(size / set_s / 1e9, size / read_s / 1e9, 2 * size / copy_s / 1e9)
    card.free(one)
    card.free(two)
    return found


class PlainCopies:
    """Pinned copies through the CUDA runtime alone, as many in a row as fit into a time."""

    BLOCK_BYTES = 2**28
    QUEUED = 4

    def __init__(self, address: str) -> None:
        import cupy

        from burnin.engine.cuda.card import CudaCard

        self._card = card = CudaCard(address)
        self._on_card = [card.allocate(self.BLOCK_BYTES) for _ in range(2)]
        self._on_host = [cupy.cuda.alloc_pinned_memory(self.BLOCK_BYTES) for _ in range(2)]
        self._up, self._down = card.new_stream(), card.new_stream()

    def rate_gbs(self, direction: str, seconds: float) -> float:
        """GB/s each way, sustained; `direction` as in a `LinkTraffic` job."""
        card, waiting, blocks = self._card, [], 0
        began_s = time.perf_counter()
        while time.perf_counter() - began_s < seconds:
            events = []
            if direction != "to_host":
                card.copy(self._on_card[0], self._on_host[0].ptr, self.BLOCK_BYTES, self._up)
                events.append(card.event(self._up))
            if direction != "to_card":
                card.copy(self._on_host[1].ptr, self._on_card[1], self.BLOCK_BYTES, self._down)
                events.append(card.event(self._down))
            blocks += 1
            waiting.append(events)
            if len(waiting) >= self.QUEUED:
                for event in waiting.pop(0):
                    card.wait(event)
        self._up.synchronize()
        self._down.synchronize()
        return blocks * self.BLOCK_BYTES / (time.perf_counter() - began_s) / 1e9


def vulkan_ceilings(size: int) -> Ceilings:
    """Through the Vulkan API alone, without any kernel: clear and copy of buffers.

    There is no plain way to read: `read_gbs` is what remains of the copy once the writing half
    runs at the clear's rate, or the clear's rate where that says less.
    """
    from burnin.engine.vulkan.adapters import choose, native_adapter, vulkan_adapters
    from burnin.engine.vulkan.gpu import Gpu

    adapters = vulkan_adapters()
    cards = [a for a in adapters if not a.software]
    choice = (
        choose(adapters, cards[0].vendor_id, cards[0].device_id)
        if cards else choose(adapters, 0, 0, software=True)
    )
    gpu = Gpu(native_adapter(choice))
    size = min(size, gpu.largest_buffer_bytes // 2**20 * 2**20)
    uses = ("STORAGE", "COPY_SRC", "COPY_DST")
    one, two = gpu.buffer(size, *uses), gpu.buffer(size, *uses)
    staging = gpu.buffer(4, "MAP_READ", "COPY_DST")
    repeats = 8

    def settled(record: Callable[[object], None]) -> Callable[[], None]:
        def work() -> None:
            encoder = gpu.encoder()
            for _ in range(repeats):
                record(encoder)
            encoder.copy_buffer_to_buffer(one, 0, staging, 0, 4)
            gpu.submit(encoder)
            gpu.fetch(staging)

        return work

    set_s = best_s(settled(lambda e: e.clear_buffer(one))) / repeats  # type: ignore[attr-defined]
    copy_s = best_s(settled(
        lambda e: e.copy_buffer_to_buffer(one, 0, two, 0, size)  # type: ignore[attr-defined]
    )) / repeats
    gpu.close()
    set_gbs, copy_gbs = size / set_s / 1e9, 2 * size / copy_s / 1e9
    read_gbs = max(set_gbs, size / max(copy_s - set_s, 1e-9) / 1e9 if copy_s > 2 * set_s else 0.0)
    return Ceilings(set_gbs, read_gbs, copy_gbs)
