"""What the named cause is worth: `python -m tests.evaluation.causes [--first 0] [--count 300]`.

Scenarios of another hand (`drawn`) are led past the guards of a recording up to their stop, or to
their end. What is then told of the cooling is compared with what was so: the likeliest cause, how
often a named one (0.7 or more) is right, and whether causes told with 70 % are right in 70 of 100.
Once by the models alone, as it was told before, and once as it is told now. A sensor that lies, a
room that heats up and heat pipes that dry have no model here: of these 'unknown' is right.
"""

from __future__ import annotations

import argparse
import io
from collections import Counter
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from burnin.replay.case import case_of_recording
from burnin.replay.judging import Judging
from burnin.replay.recording_file import BadRow, open_recording
from burnin.thermal.causes import told_causes
from burnin.thermal.cooling_verdict import TELLS_AT
from burnin.thermal.states import HEALTHY, Cooling
from tests.evaluation.drawn import text_of
from tests.evaluation.score import Share
from tests.others.thermal.drawn import scenario

RIGHT: dict[str, frozenset[Cooling]] = {
    "none": HEALTHY,
    "clogged": frozenset({Cooling.CLOGGED}),
    "fan": frozenset({Cooling.FAN_LOST}),
    "flow": frozenset({Cooling.FLOW_LOST}),
    "dry": frozenset({Cooling.NO_COOLANT}),
    "mount": frozenset({Cooling.POOR_MOUNT, Cooling.MISSING_PASTE}),
    "room": frozenset({Cooling.UNKNOWN}),
    "sensor": frozenset({Cooling.UNKNOWN}),
    "unknown": frozenset({Cooling.UNKNOWN}),
}
GRAVE = ("serious", "grave")
SHOWS_S = 3.0
"""A fault younger than that at the end was not there to be told."""
BINS = (0.0, 0.3, 0.5, 0.7, 0.8, 0.9, 0.95, 1.001)
Chances = dict[Cooling, float]


@dataclass(frozen=True)
class Told:
    """What was so at the stop or the end, and what was told by the models alone and with doubt."""

    seed: int
    cause: str
    grave: bool
    models: Chances
    doubting: Chances


def judge(seed: int) -> Told:
    """One scenario up to its stop."""
    drawn = scenario(seed)
    case = case_of_recording(open_recording(f"drawn {seed}", io.StringIO(text_of(drawn))))
    judging, truth, end_s = Judging(case), drawn.truth, 0.0
    guard = judging.guards.forecast
    assert guard is not None
    for row in case.rows():
        if isinstance(row, BadRow):
            continue
        end_s = row.elapsed_s
        if judging.judge(row) is not None:
            break
    cause = truth.cause
    if truth.onset_s is not None and truth.onset_s > max(0.0, end_s - SHOWS_S):
        cause = "none"
    if truth.kind == "dry" and cause == "none":
        cause = "dry"  # a gentle step on a block that is told as dry is sound, and dry
    grave = cause != "none" and truth.grade in GRAVE
    return Told(seed, cause, grave, guard.watch.probabilities(), told_causes(guard.watch))


def counts(all_told: Sequence[Told], of: Callable[[Told], Chances]) -> list[str]:
    """What one way of telling is worth."""
    firsts = [(t, *max(of(t).items(), key=lambda kv: kv[1])) for t in all_told]
    right = [state in RIGHT[t.cause] for t, state, _ in firsts]
    named = [hit for hit, (_, _, p) in zip(right, firsts, strict=True) if p >= TELLS_AT]
    grave = [(state, p) for t, state, p in firsts if t.grave]
    healthy = sum(state in HEALTHY and p >= TELLS_AT for state, p in grave)
    sound = [(state, p) for t, state, p in firsts if t.cause == "none"]
    blamed = sum(state not in (*HEALTHY, Cooling.UNKNOWN) and p >= TELLS_AT for state, p in sound)
    brier = [
        (1.0 - sum(p for s, p in of(t).items() if s in RIGHT[t.cause])) ** 2
        + sum(p * p for s, p in of(t).items() if s not in RIGHT[t.cause])
        for t in all_told
    ]
    lines = [
        f"likeliest cause right: {Share(sum(right), len(right))}",
        f"named with {TELLS_AT:g} or more, right: {Share(sum(named), len(named))}",
        f"sound, a part named at fault: {Share(blamed, len(sound))}",
        f"serious or grave, told healthy: {Share(healthy, len(grave))}",
        f"Brier score: {np.mean(brier):.2f}",
    ]
    off = 0.0
    for low, high in pairwise(BINS):
        inside = [(p, h) for h, (_, _, p) in zip(right, firsts, strict=True) if low <= p < high]
        if inside:
            said = float(np.mean([p for p, _ in inside]))
            hits = Share(sum(h for _, h in inside), len(inside))
            off += abs(said - hits.value) * len(inside) / len(right)
            lines.append(f"told with {100 * said:.0f} %: right {hits}")
    return [*lines, f"calibration error: {100 * off:.0f} points"]


def confusion(all_told: Sequence[Told], of: Callable[[Told], Chances]) -> list[str]:
    """What was told of each true cause; a question mark: not named, under 0.7."""
    lines = []
    for cause in RIGHT:
        told = Counter[str]()
        for t in all_told:
            if t.cause == cause:
                state, p = max(of(t).items(), key=lambda kv: kv[1])
                told[f"{state}{'' if p >= TELLS_AT else '?'}"] += 1
        lines.append(f"{cause}: " + ", ".join(f"{s} {n}" for s, n in told.most_common()))
    return lines


def main() -> None:
    """Print the counts of both ways, then what was told of each cause."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--count", type=int, default=300)
    given = parser.parse_args()
    with ProcessPoolExecutor() as pool:
        seeds = range(given.first, given.first + given.count)
        all_told = list(pool.map(judge, seeds, chunksize=4))
    ways: dict[str, Callable[[Told], Chances]] = {
        "the models alone": lambda t: t.models,
        "as it is told": lambda t: t.doubting,
    }
    for name, of in ways.items():
        print("\n".join([f"\n{name}", *counts(all_told, of), *confusion(all_told, of)]))


if __name__ == "__main__":
    main()
