"""Two cards of one host: what each reaches alone, and both at once, beside its own ceiling.

    python -m tests.benchmarks.two_cards [--engine cuda|vulkan]

Whether the host binds is told by what both lose together. Nothing here decides a test.
"""

from __future__ import annotations

import argparse
import time
from typing import Any

from burnin.engine.job import LAST_EVENTS, ArithmeticLoad, Failed, LinkTraffic, TrafficResult
from burnin.engine.process.worker_engine import WorkerEngine
from tests.benchmarks.engine_table import Sensors, Table

BEAT_S = 0.01
LINK_S, POWER_S, WARM_S = 4.0, 12.0, 4.0


def addresses() -> list[str]:
    """Bus addresses of all cards that NVML knows."""
    import pynvml

    pynvml.nvmlInit()
    cards = (pynvml.nvmlDeviceGetHandleByIndex(n) for n in range(pynvml.nvmlDeviceGetCount()))
    return [str(pynvml.nvmlDeviceGetPciInfo(card).busId) for card in cards]


def arguments(engine: str, sensors: Sensors, number: int) -> list[str]:
    if engine == "cuda":
        return ["--engine", "cuda", "--address", sensors.address]
    vendor, device = sensors.numbers()
    return ["--engine", "vulkan", "--vendor", f"{vendor:x}", "--device", f"{device:x}",
            "--among-alike", str(number)]  # fmt: skip


def results_of(engines: list[WorkerEngine], job: LinkTraffic) -> list[TrafficResult]:
    """All at once, each to its end; raises RuntimeError where one fails."""
    for engine in engines:
        engine.begin(job)
    found: dict[int, TrafficResult] = {}
    while len(found) < len(engines):
        for number, engine in enumerate(engines):
            engine.beat()
            for event in engine.poll():
                if isinstance(event, Failed):
                    raise RuntimeError(f"card {number}: {event.reason}")
                if isinstance(event, LAST_EVENTS):
                    assert isinstance(event, TrafficResult)
                    found[number] = event
        time.sleep(BEAT_S)
    return [found[number] for number in range(len(engines))]


def links(table: Table, engines: list[WorkerEngine], cards: list[Sensors]) -> None:
    for direction in ("to_card", "to_host", "both"):
        job = LinkTraffic(LINK_S, direction)
        alone = [results_of([engine], job)[0] for engine in engines]
        beside = results_of(engines, job)
        for number, (one, both) in enumerate(zip(alone, beside, strict=True)):
            rates = [max(r.to_card_gbs, r.to_host_gbs) for r in (one, both)]
            payload_gbs = cards[number].payload_limit_gbs()
            table.add(
                f"card {number}, {direction.replace('_', ' ')}, {both.wrong_words} wrong",
                f"{rates[1]:.2f} GB/s with the other, {rates[1] / payload_gbs:.3f} of payload",
                f"{rates[0]:.2f} GB/s alone", f"{rates[1] / rates[0]:.3f}",
            )  # fmt: skip


def powers(table: Table, engines: list[WorkerEngine], cards: list[Sensors]) -> None:
    for engine in engines:
        engine.begin(ArithmeticLoad(1.0))
    began_s = time.perf_counter()
    first: list[Any] = []
    while (now_s := time.perf_counter() - began_s) < WARM_S + POWER_S:
        if now_s >= WARM_S and not first:
            first = [(time.perf_counter(), card.energy_j()) for card in cards]
        for engine, card in zip(engines, cards, strict=True):
            engine.hear_power(card.power_w())
            engine.beat()
            engine.poll()
        time.sleep(BEAT_S)
    last = [(time.perf_counter(), card.energy_j()) for card in cards]
    for engine in engines:
        engine.stop()
        engine.poll()
    for number, card in enumerate(cards):
        seconds, joules = (b - a for a, b in zip(first[number], last[number], strict=True))
        table.add(f"card {number}, full power beside the other", f"{joules / seconds:.1f} W",
                  f"limit {card.limit_w:.0f} W", f"{joules / seconds / card.limit_w:.3f}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--engine", choices=("cuda", "vulkan"), default="cuda")
    options = parser.parse_args()
    cards = [Sensors(address) for address in addresses()]
    names = ", ".join(f"{card.name} {card.address}" for card in cards)
    table = Table(f"{options.engine}, {names}, {time.strftime('%Y-%m-%d')}")
    made = [WorkerEngine(arguments(options.engine, c, n)) for n, c in enumerate(cards)]
    try:
        links(table, made, cards)
        powers(table, made, cards)
    finally:
        for engine in made:
            engine.close()
    print("\n" + table.text())


if __name__ == "__main__":
    main()
