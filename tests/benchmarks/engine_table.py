"""One table of what an engine reaches, each figure beside the ceiling taken in the same run.

    python -m tests.benchmarks.engine_table --engine cuda [--quick] [--address 0000:01:00.0]

Needs a card and NVML for power, energy and the process list; without a card, `--software` runs the
Vulkan part on the bench's processor. Nothing here decides a test.
"""

from __future__ import annotations

import argparse
import itertools
import os
import signal
import statistics
import subprocess
import sys
import time
import traceback
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from burnin.core.errors import BurninError, EngineUnavailable
from burnin.engine.device.patterns import FAMILIES
from burnin.engine.job import (
    LAST_EVENTS,
    AllAtOnce,
    ArithmeticLoad,
    Failed,
    Job,
    LinkTraffic,
    MemoryTest,
    Plant,
    Progress,
    RepeatedCompute,
    ResultPlant,
    Started,
    WorkEvent,
)
from burnin.engine.power_hold import PowerHold
from burnin.engine.process.worker_engine import WorkerEngine
from tests.benchmarks import (
    bound_table,
    full_power_table,
    link_table,
    memory_table,
    stop_table,
    together_table,
)
from tests.benchmarks.ceilings import (
    IN_A_ROW,
    Ceilings,
    PlainCopies,
    cuda_ceilings,
    vulkan_ceilings,
)

BEAT_S = 0.05
FIVE_FAMILIES = ("solid", "checkerboard", "own_address", "moving_inversions", "pseudo_random")


@dataclass
class Table:
    """Rows of figure, value, ceiling and their ratio; printed as they come."""

    title: str
    rows: list[tuple[str, str, str, str]] = field(default_factory=list)

    def add(self, name: str, value: str, ceiling: str = "", ratio: str = "") -> None:
        self.rows.append((name, value, ceiling, ratio))
        print(f"  .. {name}: {value} {ceiling} {ratio}", flush=True)

    def rate(self, name: str, gbs: float, ceiling_gbs: float, of: str) -> None:
        ratio = f"{gbs / ceiling_gbs:.3f}" if ceiling_gbs else ""
        limit = f"{ceiling_gbs:.1f} GB/s {of}" if ceiling_gbs else "no plain way"
        self.add(name, f"{gbs:.1f} GB/s", limit, ratio)

    def text(self) -> str:
        head = ("figure", "reached", "ceiling in the same run", "ratio")
        lines = [f"{self.title}", "", f"| {' | '.join(head)} |", "| --- | --- | --- | --- |"]
        return "\n".join(lines + [f"| {' | '.join(row)} |" for row in self.rows])


class Sensors:
    """Power, energy and processes of one card through NVML; None where there is none."""

    def __init__(self, address: str) -> None:
        self._nvml: Any = None
        try:
            import pynvml

            pynvml.nvmlInit()
            self._nvml = pynvml
            self._card = (
                pynvml.nvmlDeviceGetHandleByPciBusId(address.encode())
                if address else pynvml.nvmlDeviceGetHandleByIndex(0)
            )
            self.address = str(pynvml.nvmlDeviceGetPciInfo(self._card).busId)
            self.name = str(pynvml.nvmlDeviceGetName(self._card))
            self.driver = str(pynvml.nvmlSystemGetDriverVersion())
            self.limit_w = pynvml.nvmlDeviceGetPowerManagementLimit(self._card) / 1e3
        except Exception as error:
            print(f"no NVML here ({error}): power, energy and processes are not measured")
            self._nvml, self.address, self.name = None, address, "no card"
            self.driver, self.limit_w = "", 0.0

    def __bool__(self) -> bool:
        return self._nvml is not None

    def energy_j(self) -> float:
        return float(self._nvml.nvmlDeviceGetTotalEnergyConsumption(self._card)) / 1e3

    def power_w(self) -> float:
        return float(self._nvml.nvmlDeviceGetPowerUsage(self._card)) / 1e3

    def clock_mhz(self) -> int:
        return int(self._nvml.nvmlDeviceGetClockInfo(self._card, self._nvml.NVML_CLOCK_SM))

    def free_bytes(self) -> int:
        return int(self._nvml.nvmlDeviceGetMemoryInfo(self._card).free) if self else 0

    def payload_limit_gbs(self) -> float:
        """What generation and width carry each way with packets of 256 bytes; 0 if not told."""
        from burnin.card.rates import payload_limit_gbs

        try:
            generation = int(self._nvml.nvmlDeviceGetCurrPcieLinkGeneration(self._card))
            width = int(self._nvml.nvmlDeviceGetCurrPcieLinkWidth(self._card))
            return payload_limit_gbs(generation, width)
        except (self._nvml.NVMLError, ValueError):
            return 0.0

    def width_lanes(self) -> int:
        return int(self._nvml.nvmlDeviceGetCurrPcieLinkWidth(self._card))

    def replays(self) -> int:
        return int(self._nvml.nvmlDeviceGetPcieReplayCounter(self._card))

    def link_bytes(self) -> tuple[int, int] | None:
        """Bytes that the card sent and received over the link, modulo 2^32; None if not told."""
        try:
            values = self._nvml.nvmlDeviceGetFieldValues(self._card, [197, 198])
            if any(value.nvmlReturn for value in values):
                return None
            sent, received = (int(value.value.ullVal) & 0xFFFFFFFF for value in values)
        except Exception as error:
            print(f"no byte counters of the link: {error}")
            return None
        return sent, received

    def numbers(self) -> tuple[int, int]:
        """PCI vendor and device numbers; zeros where NVML does not tell them."""
        if not self:
            return 0, 0
        both = int(self._nvml.nvmlDeviceGetPciInfo(self._card).pciDeviceId)
        return both & 0xFFFF, both >> 16

    def processes(self) -> set[int]:
        found: set[int] = set()
        for ask in ("Compute", "Graphics"):
            call = getattr(self._nvml, f"nvmlDeviceGet{ask}RunningProcesses")
            found |= {int(process.pid) for process in call(self._card)}
        return found

    def busy_pct(self) -> int:
        return int(self._nvml.nvmlDeviceGetUtilizationRates(self._card).gpu)


def events(engine: WorkerEngine, job: Job) -> Iterator[WorkEvent]:
    """Run a job with beats until its last event."""
    engine.begin(job)
    while True:
        engine.beat()
        for event in engine.poll():
            yield event
            if isinstance(event, LAST_EVENTS):
                return
        time.sleep(BEAT_S / 5)


def result_of(engine: WorkerEngine, job: Job) -> Any:
    """The job's result; raises RuntimeError when it failed."""
    *_, last = events(engine, job)
    if isinstance(last, Failed):
        raise RuntimeError(f"{job}: {last.reason}")
    return last


def worker_arguments(options: argparse.Namespace, sensors: Sensors) -> list[str]:
    if options.software:
        return ["--engine", "vulkan", "--software"]
    if options.engine == "cuda":
        return ["--engine", "cuda", "--address", sensors.address]
    vendor, device = sensors.numbers()
    return ["--engine", "vulkan", "--vendor", f"{vendor:x}", "--device", f"{device:x}"]


def ceilings_of(options: argparse.Namespace, sensors: Sensors) -> Ceilings:
    """The CUDA runtime's where it is at hand, also beside the Vulkan engine; else Vulkan's own."""
    if not options.software:
        try:
            return cuda_ceilings(sensors.address)
        except (EngineUnavailable, ImportError) as error:
            print(f"ceilings from Vulkan alone: {error}")
    return vulkan_ceilings(64 * 2**20 if options.software else 2**31)


def pass_rates(options: argparse.Namespace, sensors: Sensors) -> dict[str, float]:
    """Bytes a second of each pass kind over a warm area, measured on the device objects."""
    from burnin.engine.device.area import AreaWanted, Span
    from burnin.engine.device.device import Device
    from burnin.engine.device.layout import spans
    from burnin.engine.device.patterns import recipe

    if options.engine == "cuda" and not options.software:
        from burnin.engine.cuda.device import open_cuda

        device: Device = open_cuda(sensors.address)
    else:
        from burnin.engine.vulkan.adapters import choose, vulkan_adapters
        from burnin.engine.vulkan.device import VulkanDevice

        vendor, number = (0, 0) if options.software else sensors.numbers()
        adapters = vulkan_adapters()
        device = VulkanDevice(choose(adapters, vendor, number, software=options.software))
    free = sensors.free_bytes()
    area = device.take_area(AreaWanted(0.3, free, 0 if free else 64 * 2**20)).area
    size = min(area.largest_span_words, area.words)
    rates: dict[str, float] = {}

    def over_all(queue: Callable[[Span], Any]) -> float:
        best = 0.0
        for _ in range(8):
            began_s = time.perf_counter()
            waiting: list[Any] = []
            for span in [*spans(area.words, size)] * IN_A_ROW:
                waiting.append(queue(span))
                if len(waiting) > 2:
                    waiting.pop(0).finish()
            for queued in waiting:
                queued.finish()
            took_s = (time.perf_counter() - began_s) / IN_A_ROW
            best = max(best, area.words * 4 / took_s / 1e9)
        return best

    warm_until_s = time.perf_counter() + 1.0  # clocks rise only under work
    while time.perf_counter() < warm_until_s:
        over_all(partial(area.write, recipe("solid", 0, 1)))
    for name in ("checkerboard", "own_address", "pseudo_random", "walking_bits"):
        rule = recipe(name, 0, 1)
        rates[f"fill {name}"] = over_all(partial(area.write, rule))
        rates[f"check {name}"] = over_all(partial(area.check, rule))
    area.release()
    device.close()
    return rates


def memory(table: Table, engine: WorkerEngine, sensors: Sensors, options: Any) -> None:
    free = sensors.free_bytes()
    cap = 0 if free else 64 * 2**20
    result = result_of(engine, MemoryTest(0.98, FIVE_FAMILIES, free_bytes=free, max_bytes=cap))
    covered = f"{result.tested_bytes / 1e9:.2f} GB"
    ratio = f"{result.tested_bytes / result.free_bytes:.3f}"
    table.add("memory covered", covered, f"{result.free_bytes / 1e9:.2f} GB free", ratio)
    over_80_s = result.seconds * 80e9 / result.tested_bytes if result.tested_bytes else 0.0
    table.add("five families over it, kernels made anew", f"{result.seconds:.2f} s",
              "3 s over 80 GB", f"{over_80_s:.2f} s over 80 GB")
    if sensors:
        again = result_of(engine, MemoryTest(0.98, FIVE_FAMILIES, free_bytes=free))
        over_80_s = again.seconds * 80e9 / again.tested_bytes if again.tested_bytes else 0.0
        table.add("the same again, kernels at hand", f"{again.seconds:.2f} s", "3 s over 80 GB",
                  f"{over_80_s:.2f} s over 80 GB")
    table.add("failing words on it", str(result.failing_words), "0")
    table.add("longest slice of work", f"{result.longest_slice_s * 1e3:.1f} ms", "20 ms")
    size = min(cap or 2**30, 2**30)
    plants = (Plant(size // 2 + 4, flip_bits=1 << 21),)
    names = tuple(FAMILIES) if not options.quick else FIVE_FAMILIES
    job = MemoryTest(1.0, names, max_bytes=size, free_bytes=free, plants=plants)
    found = result_of(engine, job)
    right = {w.address_bytes for w in found.examples} == {size // 2 + 4}
    hits = sum(count > 0 for count in found.pattern_failures.values())
    table.add("families that find a planted bit", f"{hits}, all at its place: {right}",
              str(len(names)))
    many = 3_000_000
    started_s = time.perf_counter()
    job = MemoryTest(1.0, ("own_address",), max_bytes=size, free_bytes=free,
                     plants=(Plant(0, count=many, flip_bits=1),))
    found = result_of(engine, job)
    table.add("failing words counted of those planted", str(found.failing_words), str(2 * many),
              f"in {time.perf_counter() - started_s:.1f} s")


def families(table: Table, sensors: Sensors, options: Any) -> None:
    """Where the time of the memory test goes, Vulkan alone, in this process."""
    from burnin.engine.vulkan.adapters import vulkan_adapters
    from burnin.engine.vulkan.device import VulkanDevice

    device = VulkanDevice(link_table.software_or_card(
        vulkan_adapters(), software=options.software, numbers=sensors.numbers()
    ))
    free = sensors.free_bytes()
    cap = 0 if free else 64 * 2**20
    memory_table.families(table.add, device, FIVE_FAMILIES, free, cap)
    device.close()


def compute(table: Table, engine: WorkerEngine, options: Any) -> None:
    seconds = 2.0 if options.quick else 10.0
    result = result_of(engine, RepeatedCompute(seconds))
    total = sum(result.results.values())
    table.add("results compared", f"{total:.3g} in {result.seconds:.1f} s", "",
              f"{total / result.seconds:.3g} a second")
    wrong = sum(result.reference_failures.values())
    table.add("mismatches, reference failures", f"{result.mismatches}, {wrong}", "0, 0")
    held = ", ".join(f"{unit} {n:.2g}" for unit, n in result.results.items())
    table.add("results by unit", held, "", "")
    told = "; ".join(f"{u} {n} wrong" for u, n in result.reference_failures.items() if n)
    missing = ", ".join(result.not_offered) or "nothing"
    table.add("wrong against the processor", told or "none", "none", f"not offered: {missing}")
    reached = sorted(set(result.worked_on.values()))
    table.add("processors that worked, by unit", str(reached), str(result.processors))
    plants = tuple(ResultPlant(unit, 321, 3, 1 << 9) for unit in result.results)
    found = result_of(engine, RepeatedCompute(1.0, plants=plants))
    right = all(m.index == 321 and m.expected ^ m.got == 1 << 9 for m in found.examples)
    table.add("planted flips found and located", f"{found.mismatches}, all right: {right}",
              str(len(plants)))


def link(table: Table, engine: WorkerEngine, sensors: Sensors, options: Any) -> None:
    """The engine's copies and plain ones in turn: medians are compared, spreads are told."""
    turns, seconds = (2, 1.0) if options.quick else (5, 1.5)
    plain, whose = plain_copies(options, sensors)
    payload_gbs = sensors.payload_limit_gbs() if sensors else 0.0
    for direction in link_table.DIRECTIONS:
        wrong, ours, theirs = 0, list[float](), list[float]()
        for _ in range(turns):
            if plain:
                theirs.append(plain.rate_gbs(direction, seconds))
            result = result_of(engine, LinkTraffic(seconds, direction))
            wrong += result.wrong_words
            ours.append(max(result.to_card_gbs, result.to_host_gbs))
        way = "each way of both" if direction == "both" else direction.replace("_", " ")
        reached, ceiling = link_table.Turns(tuple(ours)), link_table.Turns(tuple(theirs))
        share = (
            f", {reached.median_gbs / payload_gbs:.3f} of the payload limit" if payload_gbs else ""
        )
        ratio = f"{reached.median_gbs / ceiling.median_gbs:.3f}" if ceiling.median_gbs else ""
        table.add(f"copy {way}, {wrong} wrong words{share}, longest slice "
                  f"{result.longest_slice_s * 1e3:.1f} ms",
                  str(reached), f"{whose} {ceiling}", ratio)


def plain_copies(
    options: argparse.Namespace, sensors: Sensors
) -> tuple[PlainCopies | link_table.PlainVulkanCopies | None, str]:
    """The CUDA runtime's own copies where it is at hand, else Vulkan's; and whose they are."""
    if not options.software:
        try:
            return PlainCopies(sensors.address), "pinned copies"
        except (EngineUnavailable, ImportError) as error:
            print(f"no pinned copies to compare with: {error}")
    try:
        gpu = link_table.opened(software=options.software, numbers=sensors.numbers())
        size = 2**22 if options.software else 2**28
        return link_table.PlainVulkanCopies(gpu, size), "plain Vulkan copies"
    except BurninError as error:
        print(f"no plain copies to compare with: {error}")
        return None, ""


def ways(table: Table, sensors: Sensors, options: Any) -> None:
    """What each way between host and card reaches, Vulkan alone, in this process."""
    gpu = link_table.opened(software=options.software, numbers=sensors.numbers())
    link_table.trials(
        lambda name, told: table.add(name, told), gpu,
        software=options.software, counted=sensors.link_bytes,
    )
    gpu.close()


def mixes(table: Table, sensors: Sensors, options: Any) -> None:
    """What each mix of work draws, in this process."""
    gpu = link_table.opened(software=options.software, numbers=sensors.numbers())
    known = sensors if sensors and not options.software else None
    full_power_table.mixes(
        lambda name, told: table.add(name, told), gpu, known, quick=options.quick
    )
    gpu.close()


def held_power(table: Table, engine: WorkerEngine, sensors: Sensors, options: Any) -> None:
    targets = (300.0, 600.0) if options.quick else (200.0, 300.0, 450.0, 600.0)
    for target_w in (*targets, sensors.limit_w):
        time.sleep(3.0)
        hold = PowerHold(target_w, idle_w=sensors.power_w())
        engine.begin(ArithmeticLoad(0.0))
        began_s = time.perf_counter()
        seen: list[tuple[float, float]] = []
        while (now_s := time.perf_counter() - began_s) < 15.2:
            energy_j = sensors.energy_j()
            if not seen or energy_j != seen[-1][1]:
                seen.append((now_s, energy_j))
            power_w = sensors.power_w()
            engine.set_share(hold.update(now_s, power_w, energy_j))
            engine.hear_power(power_w)
            engine.beat()
            engine.poll()
            time.sleep(0.01)
        engine.stop()
        engine.poll()

        def energy_at(moment_s: float, seen: list[tuple[float, float]] = seen) -> float:
            """Energy at a moment, by straight lines between the counter's refreshes."""
            for (t0, e0), (t1, e1) in itertools.pairwise(seen):
                if t0 <= moment_s <= t1:
                    return e0 + (e1 - e0) * (moment_s - t0) / (t1 - t0)
            return seen[-1][1]

        mean_w = (energy_at(15.0) - energy_at(5.0)) / 10.0
        windows = [energy_at(5.0 + k + 1) - energy_at(5.0 + k) for k in range(10)]
        peaks = [energy_at(k * 0.1 + 1) - energy_at(k * 0.1) for k in range(139)]
        name = f"held power {target_w:.0f} W"
        if target_w == sensors.limit_w:
            table.add(f"full power, limit {target_w:.0f} W", f"{mean_w:.1f} W",
                      "0.98 of the limit", f"{mean_w / target_w:.3f}")
            continue
        table.add(name, f"{mean_w:.1f} W, sd {statistics.pstdev(windows) / target_w:.2%}, "
                  f"highest 1 s {max(peaks) / target_w:.3f}", "1 %, 2 %, 1.05",
                  f"{mean_w / target_w - 1:+.2%}")


def killed(
    table: Table, arguments: list[str], sensors: Sensors, options: Any, *, together: bool
) -> None:
    """SIGKILL the supervisor; when is its worker gone, and when is the card's power at rest?"""
    work = "--supervise-together" if together else "--supervise"
    gone: list[float] = []
    left = 0
    for _ in range(3 if options.quick else 10):
        with subprocess.Popen(
            [sys.executable, "-m", "tests.benchmarks.engine_table", work, *arguments],
            stdout=subprocess.PIPE, text=True,
        ) as supervisor:
            assert supervisor.stdout is not None
            worker_pid = int(supervisor.stdout.readline())
            time.sleep(0.5)
            before = sensors.processes() if sensors else set()
            began_s = time.perf_counter()
            supervisor.send_signal(signal.SIGKILL)
            while alive(worker_pid) and time.perf_counter() - began_s < 10.0:
                time.sleep(0.001)
            gone.append(time.perf_counter() - began_s)
            time.sleep(max(0.0, 1.0 - (time.perf_counter() - began_s)))
            if sensors:
                left += bool(worker_pid in sensors.processes() & before)
    of = "all at once" if together else "arithmetic"
    table.add(f"SIGKILL of the supervisor to worker gone, {of}, worst of {len(gone)}",
              f"{max(gone) * 1e3:.0f} ms", "100 ms", f"left on the card after 1 s: {left}")


def alive(pid: int) -> bool:
    """Whether the process exists and is no zombie."""
    try:
        with open(f"/proc/{pid}/stat") as stat:  # noqa: PTH123
            return stat.read().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False


def supervise(arguments: list[str], *, together: bool) -> None:
    """Work until killed; prints the worker's pid once it works."""
    engine = WorkerEngine(arguments)
    memory = MemoryTest(0.9, together_table.PATTERNS, max_bytes=2**32)
    engine.begin(AllAtOnce(600.0, memory, alone_s=0.1) if together else ArithmeticLoad())
    works: type[WorkEvent] = Progress if together else Started
    told = False
    while True:
        engine.beat()
        if any(isinstance(event, works) for event in engine.poll()) and not told:
            told = True
            print(engine.pid, flush=True)
        time.sleep(BEAT_S / 2)


def rates(table: Table, sensors: Sensors, options: Any) -> None:
    """Passes over memory beside the plain API's."""
    ceilings = ceilings_of(options, sensors)
    print(ceilings)
    for name, gbs in pass_rates(options, sensors).items():
        fills = name.startswith("fill")
        ceiling = ceilings.set_gbs if fills else ceilings.read_gbs
        table.rate(name, gbs, ceiling, "memset" if fills else "read")


def tried(table: Table, name: str, part: Callable[[], None]) -> None:
    """Carry out a part; one that fails says why and keeps no other from being measured."""
    began_s = time.perf_counter()
    try:
        part()
    except Exception as error:
        traceback.print_exc()
        table.add(name, f"not measured: {error!r}"[:300])
    print(f"  .. {name} took {time.perf_counter() - began_s:.1f} s", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--engine", choices=("cuda", "vulkan"), default="vulkan")
    parser.add_argument("--address", default="")
    parser.add_argument("--software", action="store_true")
    parser.add_argument("--quick", action="store_true")
    parts = "rates,memory,compute,ways,mixes,link,bound,power,full,stops,killed,together"
    parser.add_argument("--seconds", type=float, default=120.0, help="of all parts at once")
    parser.add_argument("--only", default="", help=parts)
    options = parser.parse_args()
    sensors = Sensors("" if options.software else options.address)
    if not sensors and not options.software:
        sys.exit("no card that NVML knows; --software runs on the processor")
    arguments = worker_arguments(options, sensors)
    wanted = set(filter(None, options.only.split(",")))

    def due(part: str) -> bool:
        return not wanted or part in wanted

    card = "software Vulkan" if options.software else f"{sensors.name}, driver {sensors.driver}"
    table = Table(f"{options.engine} engine on {card}, {time.strftime('%Y-%m-%d')}")
    if due("rates"):
        tried(table, "rates", lambda: rates(table, sensors, options))
    on_card = bool(sensors) and not options.software
    if due("ways") and options.engine == "vulkan":
        tried(table, "ways", lambda: ways(table, sensors, options))
    if due("mixes") and options.engine == "vulkan":
        tried(table, "mixes", lambda: mixes(table, sensors, options))
    with stop_table.telling_where(), WorkerEngine(arguments) as engine:
        print(engine.description(), os.getpid())
        with_worker: dict[str, Callable[[], None]] = {
            "memory": lambda: memory(table, engine, sensors, options),
            "compute": lambda: compute(table, engine, options),
            "link": lambda: link(table, engine, sensors, options),
            "bound": lambda: bound_table.bound(
                table.add, partial(result_of, engine), sensors.width_lanes(), sensors.replays
            ),
            "power": lambda: held_power(table, engine, sensors, options),
            "full": lambda: full_power_table.full(
                lambda name, told: table.add(name, told), engine, sensors
            ),
            "together": lambda: together_table.together(
                table.add, engine, sensors, sensors.free_bytes(), seconds=options.seconds,
                quick=options.quick,
            ),
            "stops": lambda: stop_table.stops(
                table.add, engine, sensors.free_bytes(), quick=options.quick
            ),
        }
        for name, part in with_worker.items():
            if due(name) and (on_card or name not in ("power", "full", "bound")):
                tried(table, name, part)
    if due("memory") and options.engine == "vulkan":
        tried(table, "families", lambda: families(table, sensors, options))
    if due("killed"):
        for together in (False, True):
            kill = partial(killed, table, arguments, sensors, options, together=together)
            tried(table, "killed", kill)
    print("\n" + table.text())


if __name__ == "__main__":
    if sys.argv[1:2] and sys.argv[1].startswith("--supervise"):
        supervise(sys.argv[2:], together=sys.argv[1] == "--supervise-together")
    else:
        main()
