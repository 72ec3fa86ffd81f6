"""Sound cards under tight limits: `python -m tests.evaluation.narrow --scenarios 960 --seed 9001`.

Each healthy card's limit is moved to half a kelvin to ten kelvin above its own hottest moment; how
often is it stopped all the same? Sensor bias is up to 1.5 K, so that under 3 K a stop is prudent.
"""

from __future__ import annotations

import argparse
from dataclasses import replace

import numpy as np

from tests.evaluation.cooling import judge
from tests.evaluation.scenarios import play
from tests.evaluation.score import Share

BANDS = ((0.0, 1.5), (1.5, 3.0), (3.0, 5.0), (5.0, 7.0), (7.0, 10.0))
COOLEST_LIMIT_C = 60.0


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--scenarios", type=int, default=240)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    rng = np.random.default_rng([chosen.seed, 3])
    seen: list[tuple[float, bool]] = []
    for scenario in play(chosen.scenarios, chosen.seed * 1000 + 999):
        limit_c = round(float(scenario.die_c.max() + rng.uniform(0.5, 10.0)), 1)
        if not scenario.setting.kind.startswith("healthy") or limit_c < COOLEST_LIMIT_C:
            continue
        setting = replace(scenario.setting, limit_c=limit_c, hotspot_limit_c=None)
        tight = replace(scenario, setting=setting, seen_hotspot_c=None)
        seen.append((tight.headroom_k, judge(tight).stop_s is not None))
    print("| headroom, K | healthy cards stopped |\n| --- | --- |")
    for low, high in BANDS:
        mine = [stopped for headroom, stopped in seen if low <= headroom < high]
        print(f"| {low:g} to {high:g} | {Share(sum(mine), len(mine))} |")


if __name__ == "__main__":
    main()
