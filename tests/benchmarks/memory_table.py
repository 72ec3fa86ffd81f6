"""Where the time of the memory test goes: by family and kind of pass, kernels beside the wall.

Part of `tests.benchmarks.engine_table`. GB are 10^9 bytes; a march element reads and writes.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from burnin.engine.device.area import AreaWanted
from burnin.engine.device.passes import Pass, PassKind
from burnin.engine.device.patterns import passes, recipe
from burnin.engine.memory.failing_words import FailingWords
from burnin.engine.memory.sweep import Sweep
from burnin.engine.vulkan.area import VulkanArea
from burnin.engine.vulkan.device import VulkanDevice

CROSSINGS = {PassKind.WRITE: 1, PassKind.CHECK: 1, PassKind.CHECK_THEN_WRITE: 2}
SHARE = 0.98

Say = Callable[[str, str], None]


@dataclass
class Spent:
    """Time of several passes and what they did in it."""

    passes: int = 0
    slices: int = 0
    moved_bytes: float = 0.0
    wall_s: float = 0.0
    kernel_s: float = 0.0

    def add(self, other: Spent) -> None:
        self.passes += other.passes
        self.slices += other.slices
        self.moved_bytes += other.moved_bytes
        self.wall_s += other.wall_s
        self.kernel_s += other.kernel_s

    def __str__(self) -> str:
        def rate(seconds: float) -> str:
            return f"{self.moved_bytes / seconds / 1e9:.1f} GB/s" if seconds > 0 else "no clock"

        return (
            f"{self.passes} passes, {self.moved_bytes / 1e9:.1f} GB in {self.wall_s:.3f} s, "
            f"{rate(self.wall_s)}; kernels {self.kernel_s:.3f} s, {rate(self.kernel_s)}; "
            f"{self.slices} slices"
        )


def families(
    say: Say, device: VulkanDevice, names: Sequence[str], free_bytes: int, max_bytes: int
) -> None:
    """Each family as the memory test goes through it, after what memory takes to be had."""
    wanted = AreaWanted(SHARE, free_bytes, max_bytes)
    for time_of in ("first", "second"):  # the second time kernels are there
        began_s = time.perf_counter()
        found = device.take_area(wanted)
        took_s = time.perf_counter() - began_s
        area = found.area
        say(f"memory taken the {time_of} time",
            f"{area.words * 4 / 1e9:.2f} GB in {area.buffers} buffers, {took_s:.3f} s")
        if time_of == "first":
            began_s = time.perf_counter()
            area.release()
            say("memory given back", f"{time.perf_counter() - began_s:.3f} s")
    assert isinstance(area, VulkanArea)
    area.time_kernels()
    sweep = Sweep(area, 1.0, FailingWords("", 1 << 20), lambda _: None, lambda _: None)
    first, total, by_kind = Spent(), Spent(), dict[PassKind, Spent]()
    for name in names:
        of_family = Spent()
        for number, step in enumerate(passes(name)):
            spent = _spent(area, sweep, name, step)
            of_family.add(spent)
            if not total.passes and not number:
                first = spent
            else:
                by_kind.setdefault(step.kind, Spent()).add(spent)
        total.add(of_family)
        say(f"family {name}", str(of_family))
    say("very first write", str(first))
    for kind, spent in by_kind.items():
        say(f"all other passes: {kind}", str(spent))
    longest_ms = sweep.pipeline.longest_slice_s * 1e3
    say("all families", f"{total}, longest {longest_ms:.1f} ms; "
        f"{total.wall_s * 80e9 / (area.words * 4):.2f} s over 80 GB")
    area.release()


def _spent(area: VulkanArea, sweep: Sweep, name: str, step: Pass) -> Spent:
    expected = recipe(name, max(0, step.expect), 1)
    written = recipe(name, max(0, step.write), 1)
    sweep.looking_for(name, step.expect, 0)
    began_s, kernel_s = time.perf_counter(), area.kernel_s
    slices: Iterator[float]
    if step.kind is PassKind.WRITE:
        slices = sweep.write(written)
    elif step.kind is PassKind.CHECK:
        slices = sweep.check(expected)
    elif step.kind is PassKind.CHECK_THEN_WRITE:
        slices = sweep.march(expected, written, descending=step.descending)
    else:
        raise ValueError(f"{step.kind} has no rate")
    count = sum(1 for _ in slices)
    moved = float(CROSSINGS[step.kind] * area.words * 4)
    spent = Spent(1, count, moved, time.perf_counter() - began_s, area.kernel_s - kernel_s)
    assert math.isfinite(spent.kernel_s)
    return spent
