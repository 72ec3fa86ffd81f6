"""Power of a card through Vulkan: each mix of work alone, then the load as a run would work it.

Parts of `tests.benchmarks.engine_table`.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from functools import partial
from typing import Protocol

from burnin.core.errors import BurninError
from burnin.engine.device.slices import Pipeline, SliceSize
from burnin.engine.device.units import ArithmeticUnit, ComparesResults
from burnin.engine.job import ArithmeticLoad, Failed
from burnin.engine.power_hold import PowerHold
from burnin.engine.process.worker_engine import WorkerEngine
from burnin.engine.vulkan.arithmetic import VulkanArithmetic
from burnin.engine.vulkan.device import LOADS, SOFTWARE_LOAD
from burnin.engine.vulkan.gpu import Gpu
from burnin.engine.vulkan.mixed import MixedSize, VulkanMixed, mixed_kernels
from burnin.engine.vulkan.mixes import MIXES, Mix

WARM_S, JUDGED_S = 1.5, 2.0
FULL_S, FULL_JUDGED_S = 26.0, 8.0

OTHERS = (
    Mix(stream_of=2, singles=1, halves=1, shares=1, alone=4),
    Mix(stream_of=2, singles=2, halves=2, shares=2, alone=6),
    Mix(stream_of=2, singles=3, halves=3, shares=1, alone=8),
    Mix(stream_of=2, singles=0, halves=2, shares=1, alone=6),
    Mix(stream_of=2, singles=2, halves=0, shares=1, alone=6),
    Mix(stream_of=2, singles=1, halves=3, shares=2, alone=8),
    Mix(stream_of=2, singles=0, halves=4, shares=4, alone=6),
    Mix(stream_of=3, singles=2, halves=2, shares=1, alone=6),
    Mix(stream_of=4, singles=0, halves=1, shares=0, alone=4),
)
"""Mixes beside the load's own table, to find better ones for it."""

Say = Callable[[str, str], None]


class PowerSensor(Protocol):
    """What is asked of the card's sensors."""

    limit_w: float

    def power_w(self) -> float: ...

    def energy_j(self) -> float: ...

    def clock_mhz(self) -> int: ...


def mixes(say: Say, gpu: Gpu, sensors: PowerSensor | None, *, quick: bool) -> None:
    """Each mix at full work; without sensors (software) what it reaches and whether it is right."""
    table = (*MIXES, *(() if quick or sensors is None else OTHERS))
    size = LOADS[0] if sensors else SOFTWARE_LOAD
    alone = partial(VulkanArithmetic, gpu, 4096 if sensors else 16)
    _say_one(say, "fp32 multiply-adds alone", alone, sensors)
    for number, mix in enumerate(table):
        name = f"mix {number}" if number < len(MIXES) else "other mix"
        _say_one(
            say, f"{name}: {mix}",
            partial(_unit_of, gpu, mix, size), sensors,
        )  # fmt: skip


def _unit_of(gpu: Gpu, mix: Mix, size: MixedSize) -> ArithmeticUnit:
    kernels = mixed_kernels(gpu, (mix,))
    if kernels is None:
        raise ValueError("no kernel can be made of it")
    return VulkanMixed(gpu, kernels, size)


def _say_one(
    say: Say, name: str, made: Callable[[], ArithmeticUnit], sensors: PowerSensor | None
) -> None:
    try:
        unit = made()
        say(name, _worked(unit, sensors))
        unit.release()
    except (BurninError, RuntimeError, ValueError, OSError) as error:
        say(name, f"not measured: {error!r}"[:300])


def _worked(unit: ArithmeticUnit, sensors: PowerSensor | None) -> str:
    pipeline, size = Pipeline[None](), SliceSize(1, 1, 1 << 30)
    operations, watts, clocks = 0.0, list[float](), list[int]()
    warm_s, judged_s = (WARM_S, JUDGED_S) if sensors else (0.1, 0.2)
    began_s = time.perf_counter()
    energy_j = looked_s = judged_from_s = 0.0
    while (now_s := time.perf_counter() - began_s) < warm_s + judged_s:
        if now_s >= warm_s and not judged_from_s:
            judged_from_s, operations = now_s, 0.0
            energy_j = sensors.energy_j() if sensors else 0.0
        if judged_from_s and sensors and now_s - looked_s >= 0.1:
            looked_s = now_s
            watts.append(sensors.power_w())
            clocks.append(sensors.clock_mhz())
        pipeline.make_room()
        rounds = size.amount()
        pipeline.push(unit.work(rounds), partial(_learnt, size, rounds))
        operations += rounds * unit.operations_per_round
    pipeline.drain()
    took_s = time.perf_counter() - began_s - judged_from_s
    told = f"{operations / took_s / 1e12:.2f} TFLOP/s, longest slice "
    told += f"{pipeline.longest_slice_s * 1e3:.1f} ms, {size.amount()} rounds a slice"
    if isinstance(unit, ComparesResults):
        told += f", {unit.wrong_results} wrong results"
    if isinstance(unit, VulkanMixed):
        told += f", {unit.reference_failures()} not the processor's"
    if sensors and watts:
        by_energy_w = (sensors.energy_j() - energy_j) / took_s
        told = (
            f"{by_energy_w:.0f} W by energy, {statistics.median(watts):.0f} W median, "
            f"{max(watts):.0f} W at most, {statistics.median(clocks):.0f} MHz, {told}"
        )
    return told


def _learnt(size: SliceSize, rounds: int, _: None, seconds: float) -> None:
    size.took(rounds, seconds)


def full(say: Say, engine: WorkerEngine, sensors: PowerSensor) -> None:
    """Held at the card's limit by the engine's worker, which tries its mixes as a run would."""
    time.sleep(2.0)
    hold = PowerHold(sensors.limit_w, idle_w=sensors.power_w())
    engine.begin(ArithmeticLoad(0.0))
    began_s, ended = time.perf_counter(), ""
    course: list[tuple[float, float, float]] = []
    while (now_s := time.perf_counter() - began_s) < FULL_S and not ended:
        power_w, energy_j = sensors.power_w(), sensors.energy_j()
        course.append((now_s, power_w, energy_j))
        engine.set_share(hold.update(now_s, power_w, energy_j))
        engine.hear_power(power_w)
        engine.beat()
        for event in engine.poll():
            if isinstance(event, Failed):
                ended = str(event.reason)
        time.sleep(0.02)
    engine.stop()
    engine.poll()
    last = [row for row in course if row[0] >= FULL_S - FULL_JUDGED_S]
    if ended or len(last) < 2:
        say("full power", f"ended: {ended or 'no samples'}"[:300])
        return
    mean_w = (last[-1][2] - last[0][2]) / (last[-1][0] - last[0][0])
    say(
        f"full power, limit {sensors.limit_w:.0f} W",
        f"{mean_w:.1f} W by energy over the last {FULL_JUDGED_S:.0f} s, "
        f"{mean_w / sensors.limit_w:.3f} of the limit, median "
        f"{statistics.median(row[1] for row in last):.0f} W",
    )
    seconds = range(int(FULL_S))
    means = [[row[1] for row in course if s <= row[0] < s + 1] for s in seconds]
    say("power by second", " ".join(f"{statistics.mean(m):.0f}" for m in means if m))
