"""The evaluation of the guards: `python -m tests.evaluation.cooling --scenarios 2000 --seed 9001`.

Prints Markdown: the guards beside the baselines, the confusion of the cooling state, the cost.
Seeds below 1000 were used for tuning; report others.
"""

from __future__ import annotations

import argparse
import json
import math
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

import numpy as np

from burnin.replay.case import case_of_recording
from burnin.replay.judging import Judging
from burnin.replay.recording_file import BadRow
from tests.evaluation.baselines import BASELINES
from tests.evaluation.guard_settings import settings_of
from tests.evaluation.physics import Array
from tests.evaluation.records import recording
from tests.evaluation.scenarios import Scenario, play
from tests.evaluation.score import Named, confusion, score, table

BATCH = 100


@dataclass(frozen=True)
class Outcome:
    """What the guards did on one scenario: stop (or None), by which guard, state at that moment."""

    stop_s: float | None
    guard: str
    named: Named
    row_ms: Array


def true_state(scenario: Scenario, at_s: float) -> str:
    """The kind of cooling at a moment: sound until a late fault begins."""
    s = scenario.setting
    if math.isinf(s.fault_at_s) or at_s >= s.fault_at_s:
        return s.kind
    return "healthy air" if s.has_fan else "healthy loop"


def judging_of(scenario: Scenario, profile: str | None = None) -> Judging:
    """The guards that judge one scenario: `replay`'s for the recording of it."""
    return Judging(case_of_recording(recording(scenario), settings_of(profile), profile or ""))


def judge(scenario: Scenario, profile: str | None = None) -> Outcome:
    """Lead one scenario, as the recording of it, past its guards up to their stop."""
    judging = judging_of(scenario, profile)
    forecast = judging.guards.forecast
    assert forecast is not None
    costs: list[float] = []
    stop_s, guard, last_s = None, "", 0.0
    for row in recording(scenario).rows():
        assert not isinstance(row, BadRow)
        began = time.perf_counter()
        trip = judging.judge(row)
        costs.append(1000.0 * (time.perf_counter() - began))
        last_s = row.elapsed_s
        if trip is not None:
            stop_s, guard = last_s, trip.guard
            break
    chances = forecast.watch.probabilities()
    likeliest = max(chances, key=lambda k: chances[k])
    state, probability = forecast.state()
    named = Named(true_state(scenario, last_s), str(state), str(likeliest), probability)
    return Outcome(stop_s, guard, named, np.array(costs))


def batch(arguments: tuple[int, int, str | None]) -> tuple[list[Scenario], list[Outcome]]:
    """Play and judge `count` scenarios of one seed."""
    count, seed, profile = arguments
    scenarios = play(count, seed)
    return scenarios, [judge(s, profile) for s in scenarios]


def evaluate(
    count: int, seed: int, workers: int = 1, profile: str | None = None
) -> tuple[list[Scenario], list[Outcome]]:
    """`count` scenarios in batches of 100, each batch with its own seed after `seed`."""
    jobs = [(min(BATCH, count - i), seed * 1000 + i, profile) for i in range(0, count, BATCH)]
    if workers == 1:
        done = [batch(job) for job in jobs]
    else:
        with ProcessPoolExecutor(workers) as pool:
            done = list(pool.map(batch, jobs))
    return [s for part, _ in done for s in part], [o for _, part in done for o in part]


def report(scenarios: list[Scenario], outcomes: list[Outcome], seed: int) -> str:
    """The Markdown that the command prints."""
    rows = {"burnin": score(scenarios, [o.stop_s for o in outcomes])}
    for name, rule in BASELINES.items():
        rows[name] = score(scenarios, [rule(s) for s in scenarios])
    runaways = sum(math.isfinite(s.crossing_s) for s in scenarios)
    by_guard = {
        g: sum(o.guard == g for o in outcomes) for g in sorted({o.guard for o in outcomes} - {""})
    }
    row_ms = np.concatenate([o.row_ms for o in outcomes])
    cost = np.percentile(row_ms, [50, 99, 99.9])
    return "\n".join(
        [
            f"{len(scenarios)} scenarios, seed {seed}, {runaways} runaways. "
            "Shares with 95 % score intervals, leads with bootstrap intervals.",
            "",
            table(rows),
            "",
            f"no coolant, pump, fan and clogged, missed: {rows['burnin'].missed_of_the_grave}",
            f"stops by guard: {json.dumps(by_guard)}",
            "",
            confusion([o.named for o in outcomes]),
            "",
            f"cost of a row, median {cost[0]:.2f}, 99th percentile {cost[1]:.2f}, "
            f"99.9th {cost[2]:.2f} ms ({len(row_ms)} rows)",
        ]
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--scenarios", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--cases", action="store_true", help="also list what went wrong")
    parser.add_argument("--profile", default=None, help="judge by a profile's guards")
    chosen = parser.parse_args()
    scenarios, outcomes = evaluate(
        chosen.scenarios, chosen.seed, chosen.workers, chosen.profile
    )
    print(report(scenarios, outcomes, chosen.seed))
    if chosen.cases:
        for i, (s, o) in enumerate(zip(scenarios, outcomes, strict=True)):
            crossing, well = s.crossing_s, math.isinf(s.setting.fault_at_s)
            late = o.stop_s is None or o.stop_s >= crossing
            early = o.stop_s is not None and not well and o.stop_s < s.setting.fault_at_s
            false = o.stop_s is not None and well and math.isinf(crossing)
            if (math.isfinite(crossing) and late) or early or false:
                print(i, s.setting.kind, f"crossing {crossing:.1f}", o.stop_s, o.guard, o.named)


if __name__ == "__main__":
    main()
