"""Link traffic through Vulkan: what each way reaches, and that its bytes really cross the link.

Parts of `tests.benchmarks.engine_table`. All figures are GB/s (10^9 bytes a second).
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from burnin.core.errors import BurninError
from burnin.engine.device.patterns import recipe
from burnin.engine.vulkan.copier import SMALLEST_BLOCK_BYTES, fitting_block_bytes
from burnin.engine.vulkan.gpu import Gpu
from burnin.engine.vulkan.host_copier import CARD_USES, HOST_USES, LAG, HostCopier
from burnin.engine.vulkan.link_kernels import LinkKernels, Ring, Run
from burnin.engine.vulkan.link_slice import LinkSlice
from burnin.engine.vulkan.link_ways import BOTH, Way, crosses_link, ways_of

DIRECTIONS = ("to_card", "to_host", "both")
COUNTED_S = 0.7
COUNTED_BYTES = 3_300_000_000
CANDIDATES = (*BOTH, Way(False), Way(False, 1024), Way(False, 512), Way(False, 64))
"""Both ways at once."""
SETTLES_S = 0.25
"""NVML's counters are refreshed at intervals."""

Say = Callable[[str, str], None]
Count = Callable[[], tuple[int, int] | None]


@dataclass(frozen=True)
class Turns:
    """Rates of several turns."""

    rates_gbs: tuple[float, ...]

    @property
    def median_gbs(self) -> float:
        return statistics.median(self.rates_gbs) if self.rates_gbs else 0.0

    def __str__(self) -> str:
        if not self.rates_gbs:
            return "no turn"
        low, high = min(self.rates_gbs), max(self.rates_gbs)
        turns = len(self.rates_gbs)
        return f"{self.median_gbs:.2f} (of {turns} turns, {low:.2f} to {high:.2f}) GB/s"


def software_or_card(adapters: Sequence[Any], *, software: bool, numbers: tuple[int, int]) -> Any:
    """The choice of adapter: by PCI numbers, or the first card where they are not known."""
    from burnin.engine.vulkan.adapters import choose

    if software or any(numbers):
        return choose(tuple(adapters), *numbers, software=software)
    cards = [adapter for adapter in adapters if not adapter.software]
    first = cards[0] if cards else None
    wanted = (first.vendor_id, first.device_id) if first else (0, 0)
    return choose(tuple(adapters), *wanted, software=first is None)


def opened(*, software: bool, numbers: tuple[int, int]) -> Gpu:
    """The adapter's device, in this process."""
    from burnin.engine.vulkan.adapters import native_adapter, vulkan_adapters

    choice = software_or_card(vulkan_adapters(), software=software, numbers=numbers)
    return Gpu(native_adapter(choice))


class PlainVulkanCopies:
    """Copies of buffers alone, nothing checked: the ceiling where the CUDA runtime is missing."""

    def __init__(self, gpu: Gpu, block_bytes: int) -> None:
        self._gpu = gpu
        self._size = block_bytes
        self._host = [gpu.buffer(block_bytes, *HOST_USES) for _ in range(2)]
        self._card = [gpu.buffer(block_bytes, *CARD_USES) for _ in range(2)]
        self._staging = [gpu.buffer(4, "MAP_READ", "COPY_DST") for _ in range(3)]
        self.rate_gbs("both", 0.01)  # first use clears

    def rate_gbs(self, direction: str, seconds: float) -> float:
        """GB/s each way; both ways run one after the other, for one queue has no two at once."""
        began_s, blocks, waiting = time.perf_counter(), 0, list[Any]()
        while time.perf_counter() - began_s < seconds:
            encoder = self._gpu.encoder()
            if direction != "to_host":
                encoder.copy_buffer_to_buffer(self._host[0], 0, self._card[0], 0, self._size)
            if direction != "to_card":
                encoder.copy_buffer_to_buffer(self._card[1], 0, self._host[1], 0, self._size)
            staging = self._staging[blocks % 3]
            encoder.copy_buffer_to_buffer(self._card[0], 0, staging, 0, 4)
            self._gpu.submit(encoder)
            blocks += 1
            waiting.append(staging)
            if len(waiting) > 2:
                self._gpu.fetch(waiting.pop(0))
        for staging in waiting:
            self._gpu.fetch(staging)
        return blocks * self._size / (time.perf_counter() - began_s) / 1e9


def trials(say: Say, gpu: Gpu, *, software: bool, counted: Count) -> None:
    """Every way of every direction, at several sizes; where memory lies; what counters saw."""
    say("features taken", ", ".join(sorted(gpu.features)) or "none")
    say("largest buffer", f"{gpu.largest_buffer_bytes / 2**20:.0f} MiB")
    fitting = SMALLEST_BLOCK_BYTES if software else fitting_block_bytes(gpu, 1)
    say("fitting block", f"{fitting >> 20} MiB")
    sizes = {fitting} if software else {fitting, 1 << 24, 1 << 22}
    for direction in DIRECTIONS:
        for block in sorted(sizes, reverse=True):
            _guarded(say, f"ways {direction}", partial(_ways, say, gpu, direction, block))
        if not software:
            ways = ways_of(direction)
            part = partial(_counters, say, gpu, direction, fitting, counted, ways)
            _guarded(say, f"counters {direction}", part)
    _guarded(say, "candidates both ways", partial(_candidates, say, gpu, fitting, counted))
    _guarded(say, "where memory lies", lambda: _where_memory_lies(say, gpu, fitting))


def _guarded(say: Say, name: str, part: Callable[[], None]) -> None:
    try:
        part()
    except (BurninError, RuntimeError, ValueError, OSError) as error:
        say(name, f"not measured: {error!r}"[:300])


def _ways(say: Say, gpu: Gpu, direction: str, block: int) -> None:
    copier = HostCopier(gpu, direction, 1, block)
    reached = "; ".join(f"{t.way} {t.rate_gbs:.2f}" for t in copier.trials)
    crosses = crosses_link(copier.host_read_gbs, copier.card_read_gbs)
    wrong = copier.copy(LAG).finish().wrong_words
    say(
        f"{direction}, {LAG} blocks of {block >> 20} MiB",
        f"{reached} | kernel reads host {copier.host_read_gbs:.2f}, card "
        f"{copier.card_read_gbs:.1f}, crosses: {crosses}, {wrong} wrong words",
    )
    copier.release()


def _candidates(say: Say, gpu: Gpu, block: int, counted: Count) -> None:
    """All ways both ways at once; those that are not tried before work once more, for longer."""
    copier = HostCopier(gpu, "both", 1, block, CANDIDATES)
    wrong = copier.copy(LAG).finish().wrong_words
    fastest = sorted(copier.trials, key=lambda trial: -trial.rate_gbs)
    copier.release()
    for trial in fastest:
        say(f"both, {trial.way}", f"{trial.rate_gbs:.2f} GB/s each way")
    say("both, all candidates", f"{wrong} wrong words")
    further = tuple(trial.way for trial in fastest if trial.way not in BOTH)
    _counters(say, gpu, "both", block, counted, further)


def _counters(
    say: Say, gpu: Gpu, direction: str, block: int, counted: Count, ways: tuple[Way, ...]
) -> None:
    """Each way alone by the bench's clock, then by the link's byte counters: what did not cross the
    link is missing there. The counters wrap at 4.3 GB, so fewer bytes are moved."""
    for way in ways:
        copier = HostCopier(gpu, direction, 1, block, (way,))
        moved_bytes, wall_s, busy_s = _moved(copier, COUNTED_S, 1 << 62)
        told = (
            f"{moved_bytes / wall_s / 1e9:.2f} GB/s by the bench's clock, copies took "
            f"{busy_s / wall_s:.2f} of the time"
        )
        time.sleep(SETTLES_S)
        before = counted()
        moved_bytes, _, _ = _moved(copier, COUNTED_S, COUNTED_BYTES)
        time.sleep(SETTLES_S)
        after = counted()
        if before is not None and after is not None:
            sent, received = (((b - a) & 0xFFFFFFFF) for a, b in zip(before, after, strict=True))
            told += (
                f"; of {moved_bytes / 1e9:.2f} GB the card's counters saw {sent / 1e9:.2f} sent, "
                f"{received / 1e9:.2f} received (unit as NVML tells it)"
            )
        say(f"{direction} by {way}", told)
        copier.release()


def _moved(copier: HostCopier, seconds: float, most_bytes: int) -> tuple[int, float, float]:
    """Bytes moved (one way), seconds by the bench's clock, and seconds that copies took."""
    began_s, moved_bytes, busy_s = time.perf_counter(), 0, 0.0
    size, waiting = LAG * copier.block_bytes, [copier.copy(LAG)]
    while time.perf_counter() - began_s < seconds and moved_bytes + 2 * size <= most_bytes:
        waiting.append(copier.copy(LAG))
        busy_s += waiting.pop(0).finish().seconds
        moved_bytes += size
    busy_s += waiting.pop().finish().seconds
    return moved_bytes + size, time.perf_counter() - began_s, busy_s


def _where_memory_lies(say: Say, gpu: Gpu, block: int) -> None:
    """How fast a kernel reads and writes a buffer of each kind."""
    kinds = {"MAP_READ": HOST_USES, "card": CARD_USES, "MAP_WRITE": ("MAP_WRITE", *CARD_USES)}
    kernels = LinkKernels(gpu, recipe("pseudo_random", 0, 1))
    slot = kernels.slot()
    for name, uses in kinds.items():
        try:
            ring = Ring(gpu.buffer(LAG * block, *uses), LAG, block)
        except BurninError as error:
            say(f"{name} buffer", f"not given: {error}"[:200])
            continue
        rates: dict[str, float] = {}
        for step in ("fill", "check", "fill", "check", "fill", "check"):
            work = LinkSlice(gpu, kernels, slot)
            began_s = time.perf_counter()
            work.mark(0)
            getattr(work, step)(Run(ring, 0, LAG))
            work.mark(1)
            work.submit()
            seconds = work.finish().seconds or time.perf_counter() - began_s
            rates[step] = max(rates.get(step, 0.0), LAG * block / max(seconds, 1e-9) / 1e9)
        say(f"{name} buffer", f"kernel writes {rates['fill']:.1f}, reads {rates['check']:.1f} GB/s")
        ring.buffer.destroy()
    slot.release()
