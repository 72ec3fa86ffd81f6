"""Which copier works a card through Vulkan: in host memory at the link's speed, or staged."""

from __future__ import annotations

import time

from burnin.engine.device.area import OutOfCardMemory
from burnin.engine.vulkan.gpu import Gpu
from burnin.engine.vulkan.host_copier import HOST_RING, HostCopier
from burnin.engine.vulkan.link_ways import crosses_link
from burnin.engine.vulkan.staged_copier import StagedCopier

BLOCK_S = 0.0013
"""Time that a block aims at: long beside the gap between two kernels, short beside a slice."""
SMALLEST_BLOCK_BYTES = 1 << 20
LARGEST_BLOCK_BYTES = 1 << 26
PROBE_BLOCK_BYTES = 1 << 22
PROBE_S = 0.1
"""A link that slept needs a while to come up to speed."""


def fitting_block_bytes(gpu: Gpu, seed: int) -> int:
    """Bytes of a block, a power of two, by how fast this card reads the bench's memory."""
    probe, rate_gbs = HostCopier(gpu, "to_card", seed, PROBE_BLOCK_BYTES), 0.0
    began_s = time.perf_counter()
    while time.perf_counter() - began_s < PROBE_S:
        rate_gbs = max(rate_gbs, probe.read_gbs(probe.host))
    probe.release()
    wanted = int(rate_gbs * 1e9 * BLOCK_S)
    most: int = min(LARGEST_BLOCK_BYTES, gpu.largest_buffer_bytes // HOST_RING)
    fitting: int = 1 << max(1, min(wanted, most)).bit_length() - 1
    return max(SMALLEST_BLOCK_BYTES, fitting)


def host_copier(gpu: Gpu, direction: str, seed: int, *, software: bool) -> HostCopier | None:
    """The copier in host memory; None where the card cannot, or where nothing crosses a link.

    A software adapter has no link: there it shows that words are right, and no more.
    """
    if "mappable-primary-buffers" not in gpu.features:
        return None
    try:
        block = SMALLEST_BLOCK_BYTES if software else fitting_block_bytes(gpu, seed)
    except OutOfCardMemory:
        return None
    while block >= SMALLEST_BLOCK_BYTES:
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
