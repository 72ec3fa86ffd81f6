"""What the plain API reaches in the same process: the ceilings beside which an engine is put.

Rates in GB/s (10^9 bytes a second). Each is the best of several rounds: a ceiling is a ceiling.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Ceilings:
    """Rates of a card: set memory, read it, copy inside it, copy each way over the link."""

    set_gbs: float
    read_gbs: float
    copy_gbs: float
    up_gbs: float
    down_gbs: float
    both_gbs: float


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
    import cupy
    import numpy as np

    from burnin.engine.cuda.card import CudaCard
    from burnin.engine.cuda.kernels_of_memory import TILES_PER_BLOCK

    card = CudaCard(address)
    free, _ = card.memory()
    size = min(size, free // 3) // 2**20 * 2**20
    one, two = card.allocate(size), card.allocate(size)
    tiles = size // 4096
    reader = card.kernel("memory", "read_only")

    def settled(queue: Callable[[], None]) -> Callable[[], None]:
        def work() -> None:
            queue()
            card.stream.synchronize()

        return work

    def read() -> None:
        arguments = (np.uint64(one), np.uint64(tiles), np.uint64(two))
        card.launch(reader, (tiles // TILES_PER_BLOCK,), arguments)

    set_s = best_s(settled(lambda: card.clear(one, size, 0x5A)))
    read_s = best_s(settled(read))
    copy_s = best_s(settled(lambda: card.copy(two, one, size)))
    block, times = min(2**28, size), 24
    pinned = [cupy.cuda.alloc_pinned_memory(block) for _ in range(2)]
    up, down = card.new_stream(), card.new_stream()

    def link(*, go_up: bool, go_down: bool) -> Callable[[], None]:
        def work() -> None:
            for _ in range(times):
                if go_up:
                    card.copy(one, pinned[0].ptr, block, up)
                if go_down:
                    card.copy(pinned[1].ptr, two, block, down)
            up.synchronize()
            down.synchronize()

        return work

    found = Ceilings(
        size / set_s / 1e9, size / read_s / 1e9, 2 * size / copy_s / 1e9,
        times * block / best_s(link(go_up=True, go_down=False)) / 1e9,
        times * block / best_s(link(go_up=False, go_down=True)) / 1e9,
        times * block / best_s(link(go_up=True, go_down=True)) / 1e9,
    )
    card.free(one)
    card.free(two)
    return found


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
    return Ceilings(set_gbs, read_gbs, copy_gbs, 0.0, 0.0, 0.0)
