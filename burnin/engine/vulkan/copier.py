"""Which copier works a card through Vulkan: in host memory at the link's speed, or staged."""

from __future__ import annotations

import time

from burnin.engine.device.area import OutOfCardMemory
from burnin.engine.device.patterns import recipe
from burnin.engine.vulkan.gpu import Gpu
from burnin.engine.vulkan.host_copier import HOST_RING, HOST_USES, HostCopier
from burnin.engine.vulkan.link_kernels import LinkKernels, Ring, Run
from burnin.engine.vulkan.link_slice import LinkSlice
from burnin.engine.vulkan.link_ways import crosses_link
from burnin.engine.vulkan.staged_copier import StagedCopier

BLOCK_S = 0.0015
"""Time that a block aims at: long beside the gap between two kernels, short beside a slice."""
SMALLEST_BLOCK_BYTES = 1 << 20
LARGEST_BLOCK_BYTES = 1 << 26
LEAST_HOST_BLOCK_BYTES = 1 << 25
"""Four of these come down before one is read back: 128 MiB. The largest cache of a card known holds
96 MiB (from memory of data sheets), and keeps host memory too: seen on a real card, whose reads of
16 MiB "from the bench" came from it at 1200 GB/s, and of 64 MiB in part."""
LEAST_FITTING_BYTES = 1 << 23
"""On a link for which less than this fits, so large a block would hold up a stop."""
PROBE_S = 0.1
"""A link that slept needs a while to come up to speed."""
PROBE_ROUNDS = 3
PROBE_STEP = 8
PROBE_BLOCKS = 2
"""Of a ring, in one submission."""


def fitting_block_bytes(gpu: Gpu, seed: int) -> int:
    """Bytes of a block, a power of two, by how fast blocks cross to this card and back.

    It begins small, for what crosses a slow link is not to be waited for longer than a slice; and
    goes on with larger ones, for small ones stay in the card's cache and look as if they crossed.
    """
    most: int = min(LARGEST_BLOCK_BYTES, gpu.largest_buffer_bytes // HOST_RING)
    largest = max(SMALLEST_BLOCK_BYTES, _power_of_two(most))
    kernels, block = LinkKernels(gpu, recipe("pseudo_random", 0, seed)), SMALLEST_BLOCK_BYTES
    warm_s = PROBE_S
    while True:
        try:
            crossing_s = _crossing_s(gpu, kernels, block, warm_s)
        except OutOfCardMemory:
            if block == SMALLEST_BLOCK_BYTES:
                raise
            return block // 2
        wanted = _power_of_two(int(block * BLOCK_S / crossing_s))
        if wanted <= block or block == largest:
            return max(SMALLEST_BLOCK_BYTES, min(wanted, largest))
        block, warm_s = min(wanted, PROBE_STEP * block, largest), 0.0


def host_block_bytes(fitting: int) -> int | None:
    """Bytes of a block in host memory; None where no block fits the link and exceeds a cache."""
    return None if fitting < LEAST_FITTING_BYTES else max(fitting, LEAST_HOST_BLOCK_BYTES)


def _power_of_two(number: int) -> int:
    """The largest that is not larger."""
    return 1 << max(1, number).bit_length() - 1


def _crossing_s(gpu: Gpu, kernels: LinkKernels, block: int, warm_s: float) -> float:
    """Seconds that a block takes, the slower way: the best of several turns of a whole ring."""
    ring = Ring(gpu.buffer(HOST_RING * block, *HOST_USES), HOST_RING, block)
    slot, best = kernels.slot(), {"fill": float("inf"), "check": float("inf")}
    began_s, rounds = time.perf_counter(), 0
    while rounds < PROBE_ROUNDS or time.perf_counter() - began_s < warm_s:
        for step in best:
            turn_s = 0.0
            for first in range(0, HOST_RING, PROBE_BLOCKS):
                before_s = time.perf_counter()
                work = LinkSlice(gpu, kernels, slot)
                work.mark(0)
                getattr(work, step)(Run(ring, first, min(PROBE_BLOCKS, HOST_RING - first)))
                work.mark(1)
                work.submit()
                turn_s += work.finish().seconds or time.perf_counter() - before_s
            best[step] = min(best[step], max(turn_s, 1e-9) / HOST_RING)
        rounds += 1
    ring.buffer.destroy()
    slot.release()
    return max(best.values())


def host_copier(gpu: Gpu, direction: str, seed: int, *, software: bool) -> HostCopier | None:
    """The copier in host memory; None where the card cannot, or where nothing crosses a link.

    A software adapter has no link: there it shows that words are right, and no more.
    """
    if "mappable-primary-buffers" not in gpu.features:
        return None
    try:
        fitting = None if software else host_block_bytes(fitting_block_bytes(gpu, seed))
    except OutOfCardMemory:
        return None
    block = SMALLEST_BLOCK_BYTES if software else fitting or 0
    while block >= (SMALLEST_BLOCK_BYTES if software else LEAST_HOST_BLOCK_BYTES):
        try:
            copier = HostCopier(gpu, direction, seed, block)
        except OutOfCardMemory:  # of the bench's memory, or the card's
            block //= 2
            continue
        if software or crosses_link(copier.host_read_gbs, copier.card_read_gbs):
            return copier
        copier.release()
        break
    return None


def copier_for(gpu: Gpu, direction: str, seed: int, *, software: bool) -> HostCopier | StagedCopier:
    """Copies ``to_card``, ``to_host`` or ``both`` ways, by the fastest way there is."""
    return host_copier(gpu, direction, seed, software=software) or StagedCopier(
        gpu, direction, 8 if software else 96, seed
    )
