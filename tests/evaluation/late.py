"""The same scenarios read worse: `python -m tests.evaluation.late --scenarios 400 --seed 9081`.

Power read as the mean of the time before (none, 0.3 or 1 s, exponential), temperatures read anew
only every 0.1, 0.5 or 1 s, and every sixth record begun when the card had been under load for some
time. Ordinary habits of sensors and of people; the guard is told nothing of them.
"""

from __future__ import annotations

import argparse
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace

import numpy as np

from tests.evaluation.cooling import BATCH, judge
from tests.evaluation.physics import Array
from tests.evaluation.scenarios import ROW_S, Scenario, play
from tests.evaluation.score import score, table

MEANS_S = (0.0, 0.3, 1.0)
HELD_S = (ROW_S, 0.5, 1.0)
BEGUN_SHARE = 1.0 / 6.0
LOADED_FROM_S, LOADED_TO_S = 2.0, 60.0
LOADED_W = 60.0


def trailing(power_w: Array, mean_s: float) -> Array:
    """Exponential mean of the rows before."""
    if mean_s <= 0.0:
        return power_w
    out, level, move = power_w.copy(), float(power_w[0]), 1.0 - np.exp(-ROW_S / mean_s)
    for k, watts in enumerate(power_w.tolist()):
        level += (watts - level) * move
        out[k] = level
    result: Array = np.round(out, 1)
    return result


def held(codes: Array, for_s: float) -> Array:
    """Each reading kept until the next is due."""
    every = max(1, round(for_s / ROW_S))
    kept: Array = codes[(np.arange(len(codes)) // every) * every]
    return kept


def begun_late(scenario: Scenario, after_s: float) -> Scenario:
    """What a record shows that was begun when the first loaded step had lasted `after_s`.

    The scenario itself where its fault or its crossing would come before the record.
    """
    setting = scenario.setting
    loaded_s = next((s for s, w in setting.plan if w > LOADED_W), 0.0)
    cut = round((loaded_s + after_s) / ROW_S)
    cut_s = cut * ROW_S
    sound_until_s = min(scenario.crossing_s, setting.fault_at_s or np.inf)
    if cut_s + 20.0 > sound_until_s or cut >= len(scenario.time_s) // 2:
        return scenario
    before = [w for s, w in setting.plan if s <= cut_s]
    plan = ((0.0, before[-1]), *((round(s - cut_s, 1), w) for s, w in setting.plan if s > cut_s))
    spot, rpm = scenario.seen_hotspot_c, scenario.rpm
    return Scenario(
        replace(setting, plan=plan, fault_at_s=max(0.0, setting.fault_at_s - cut_s)),
        scenario.time_s[cut:] - cut_s,
        scenario.power_w[cut:],
        scenario.seen_die_c[cut:],
        None if spot is None else spot[cut:],
        None if rpm is None else rpm[cut:],
        scenario.die_c[cut:],
        scenario.hotspot_c[cut:],
    )


def worsened(scenario: Scenario, rng: np.random.Generator) -> Scenario:
    """The scenario with sensors of drawn habits, perhaps begun late."""
    mean_s, for_s = float(rng.choice(MEANS_S)), float(rng.choice(HELD_S))
    late, after_s = rng.random() < BEGUN_SHARE, rng.uniform(LOADED_FROM_S, LOADED_TO_S)
    spot = scenario.seen_hotspot_c
    worse = replace(
        scenario,
        power_w=trailing(scenario.power_w, mean_s),
        seen_die_c=held(scenario.seen_die_c, for_s),
        seen_hotspot_c=None if spot is None else held(spot, for_s),
    )
    return begun_late(worse, after_s) if late else worse


def batch(arguments: tuple[int, int]) -> tuple[list[Scenario], list[float | None]]:
    """Play, worsen and judge `count` scenarios of one seed."""
    count, seed = arguments
    rng = np.random.default_rng([seed, 7])
    scenarios = [worsened(s, rng) for s in play(count, seed)]
    return scenarios, [judge(s).stop_s for s in scenarios]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--scenarios", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=1)
    chosen = parser.parse_args()
    count, seed = chosen.scenarios, chosen.seed
    jobs = [(min(BATCH, count - i), seed * 1000 + i) for i in range(0, count, BATCH)]
    with ProcessPoolExecutor(chosen.workers) as pool:
        done = list(pool.map(batch, jobs))
    scenarios = [s for part, _ in done for s in part]
    stops = [stop for _, part in done for stop in part]
    print(f"{count} scenarios read worse, seed {seed}\n")
    print(table({"burnin": score(scenarios, stops)}))


if __name__ == "__main__":
    main()
