"""How causes of heat that another hand drew are explained; run it as a module."""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from typing import Any

from burnin.diagnosis.heat.explain_heat import Estimate, HeatLook, explain_heat
from tests.evaluation.score import wilson
from tests.others.explained.draw import cases

_NAMES = ("die_to_block", "block_to_room", "die_to_hotspot")


def look_of(heat: dict[str, Any]) -> HeatLook:
    """A drawn case of heat as a ramp's record would tell it."""
    top = heat["steps"][-1]
    found, known = {}, {}
    for name in _NAMES:
        value = heat[f"{name}_k_per_w"]
        if value is not None:
            found[name] = Estimate(value[0], value[1])
        good = (heat["known_good"] or {}).get(f"{name}_k_per_w")
        if good is not None:
            known[name] = Estimate(good[0], good[1])
    capacity, seconds = heat["block_capacity_j_per_k"], heat["seconds_to_steady"]
    slow = None
    if capacity and seconds and found.get("block_to_room") and capacity[0] > 0.0:
        own_s = 3.0 * capacity[0] * found["block_to_room"].k_per_w
        slow = seconds / own_s if own_s > 0.0 else None
    hot = top["hotspot_c"]
    return HeatLook(
        power_w=max(step["power_w"] for step in heat["steps"]),
        gpu_c=top["gpu_c"],
        resistances=found,
        known_good=known,
        fans_rpm=tuple(top["fan_rpm"] or ()),
        room_c=heat["room_c"],
        slowness=slow,
        water=heat["cooling"] == "water",
        hotspot_over_gpu_k=None if hot is None else hot - top["gpu_c"],
    )


def main() -> int:
    """Print right answers by cause, and the calibration error."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--seed", type=int, default=1000)
    asked.add_argument("--count", type=int, default=600)
    given = asked.parse_args()
    right: Counter[str] = Counter()
    every: Counter[str] = Counter()
    missed: Counter[tuple[str, str]] = Counter()
    bins: list[list[tuple[float, bool]]] = [[] for _ in range(10)]
    for drawn in cases("heat", given.seed, given.count):
        case = drawn.to_dict()
        first = explain_heat(look_of(case["seen"]["heat"]))[0]
        cause = case["truth"]["cause"] if case["truth"]["shows"] else "sound"
        hit = first.cause.value == cause
        every[cause] += 1
        right[cause] += hit
        if not hit:
            missed[cause, first.cause.value] += 1
        bins[min(9, int(10 * first.probability))].append((first.probability, hit))
    for cause in sorted(every):
        print(f"{cause:<18} {right[cause]:>4}/{every[cause]}")
    hits, count = sum(right.values()), sum(every.values())
    low, high = wilson(hits, count)
    print(f"right cause first  {hits}/{count} = {hits / count:.3f} ({low:.3f}-{high:.3f})")
    error = sum(abs(sum(p - h for p, h in part)) for part in bins) / count
    print(f"calibration error  {error:.3f}")
    print("missed most:", ", ".join(f"{a} as {b} {n}" for (a, b), n in missed.most_common(8)))
    return 0


if __name__ == "__main__":
    sys.exit(main())
