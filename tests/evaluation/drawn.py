"""Scenarios that another hand drew: `python -m tests.evaluation.drawn [--first 0] [--count 300]`.

Each is led past the guards of a recording as `burnin replay` leads a file. Seeds of 100000 and
above are held out. Truth is that of the generator (`tests.others.thermal.drawn`), which goes on
with its physics after a stop.
"""

from __future__ import annotations

import argparse
import io
import math
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

import numpy as np
import pandas as pd

from burnin.replay.case import case_of_recording
from burnin.replay.judging import Judging
from burnin.replay.recording_file import BadRow, open_recording
from tests.evaluation.score import Share
from tests.others.thermal.drawn import Scenario, scenario

COOLING = {
    "air": "fans",
    "blower": "fans",
    "passive": "stream",
    "water": "water",
    "dry": "water",
}


MOST_LIMIT_C = 125.0
"""No guard takes a higher one: no such limit is told."""


@dataclass(frozen=True)
class Result:
    """What came of one scenario; times in seconds from the record's begin, None: never."""

    seed: int
    kind: str
    cause: str
    grade: str
    onset_s: float | None
    crossing_s: float | None
    latest_stop_s: float | None
    reads_over_s: float | None
    stop_s: float | None
    guard: str
    exceeds: bool
    warned_s: float | None = None

    @property
    def warned_before_s(self) -> float:
        """From the first warning to the crossing; 0: none was given, or none before it."""
        if self.warned_s is None or self.crossing_s is None:
            return 0.0
        return max(0.0, self.crossing_s - self.warned_s)

    @property
    def lead_s(self) -> float:
        """From the stop to the crossing; below 0: late; infinite: it would never have crossed."""
        if self.stop_s is None:
            return -math.inf
        return math.inf if self.crossing_s is None else self.crossing_s - self.stop_s


def text_of(drawn: Scenario) -> str:
    """The scenario as a recording: what the bench knows, then its rows."""
    rows, bench = drawn.rows, drawn.bench
    columns = {
        "time_s": rows.time_s,
        "power_w": rows.power_w,
        "gpu_temp_c": rows.die_c,
        "hotspot_temp_c": rows.hotspot_c,
        "energy_j": rows.energy_j,
        "fan_rpm": rows.fan_rpm,
    }
    table = pd.DataFrame({name: column for name, column in columns.items() if column is not None})
    head = [f"# limit_c = {bench.limit_c:g}"]
    if bench.hotspot_limit_c is not None and bench.hotspot_limit_c <= MOST_LIMIT_C:
        head.append(f"# hotspot_limit_c = {bench.hotspot_limit_c:g}")
    if bench.told_cooling in COOLING:
        head.append(f"# cooling = {COOLING[bench.told_cooling]}")
    elif bench.has_fans is not None:
        head.append(f"# has_fan = {str(bench.has_fans).lower()}")
    if rows.planned_w is not None:
        head.append(f"# plan = {_plan(rows.time_s, rows.planned_w)}")
    return "\n".join(head) + "\n" + table.to_csv(index=False)


def _plan(time_s: np.ndarray, planned_w: np.ndarray) -> list[list[float]]:
    told = np.flatnonzero(np.isfinite(planned_w))
    if not len(told):
        return [[0.0, 0.0]]
    at, watts = time_s[told], planned_w[told]
    starts = np.flatnonzero(np.concatenate([[True], np.abs(np.diff(watts)) > 0.5]))
    thinned = starts[:: max(1, math.ceil(len(starts) / 900))]
    return [[round(float(at[k]), 3), round(float(watts[k]), 1)] for k in thinned]


def judge(seed: int) -> Result:
    """One scenario past the guards."""
    drawn = scenario(seed)
    case = case_of_recording(open_recording(f"drawn {seed}", io.StringIO(text_of(drawn))))
    judging, truth = Judging(case), drawn.truth
    stop_s, guard, warned_s = None, "", None
    for row in case.rows():
        trip = None if isinstance(row, BadRow) else judging.judge(row)
        warning = judging.guards.warning()
        if warned_s is None and warning is not None:
            warned_s = warning.since_s
        if trip is not None and not isinstance(row, BadRow):
            stop_s, guard = row.elapsed_s, trip.guard
            break
    crossed = truth.crossing_s is not None
    exceeds = drawn.stopped_at(stop_s).exceeds if stop_s is not None else crossed
    return Result(
        seed, truth.kind, truth.cause, truth.grade, truth.onset_s, truth.crossing_s,
        truth.latest_stop_s, truth.reading_crossing_s, stop_s, guard, exceeds,
        warned_s,
    )  # fmt: skip


def told(results: Sequence[Result]) -> list[str]:
    """The counts with their intervals."""
    sound = [r for r in results if r.cause == "none"]
    faulty = [r for r in results if r.cause != "none"]
    due = [r for r in faulty if r.crossing_s is not None]
    rest = [r for r in faulty if r.crossing_s is None]
    later = [r for r in faulty if r.onset_s and r.onset_s > 0.0]
    before = [r for r in later if r.stop_s is not None and r.stop_s < (r.onset_s or 0.0)]
    shown = [r for r in due if r.reads_over_s is not None]
    over = [r for r in shown if r.stop_s is None or r.stop_s > (r.reads_over_s or 0.0)]
    leads = [r.lead_s for r in due if r.stop_s is not None and r.lead_s >= 0.0]
    missed = [r for r in due if r.stop_s is None or r.lead_s < 0.0]
    hasty = [r for r in later if r.warned_s is not None and r.warned_s < (r.onset_s or 0.0)]
    ahead = [r.warned_before_s for r in due]
    early = [r for r in due if r.warned_before_s > 0.0]
    warned = [r for r in results if r.warned_s is not None]
    return [
        f"scenarios: {len(results)}",
        f"false stops of sound cards: {_share(sound, [r for r in sound if r.stop_s is not None])}",
        f"before the fault: {_share(later, before)}",
        f"faulty, not to cross: {_share(rest, [r for r in rest if r.stop_s is not None])}",
        f"missed: {_share(due, missed)}",
        f"the reading was over its limit before the stop: {_share(shown, over)}",
        f"limit reached: {_share(due, [r for r in due if r.exceeds])}",
        f"lead, s, 5th, 50th, 95th: {np.percentile(leads or [math.nan], [5, 50, 95]).round(1)}",
        f"sound cards warned of: {_share(sound, [r for r in sound if r.warned_s is not None])}",
        f"warned of before the fault: {_share(later, hasty)}",
        f"warned of, not to cross: {_share(rest, [r for r in rest if r.warned_s is not None])}",
        f"warned of before they crossed: {_share(due, early)}",
        f"of those warned of, to cross: {_share(warned, [r for r in warned if r in due])}",
        f"warning before crossing, s, none as 0, 5th, 25th, 50th, 75th:"
        f" {np.percentile(ahead or [math.nan], [5, 25, 50, 75]).round(1)}",
        f"stops by guard: {dict(Counter(r.guard for r in results if r.stop_s is not None))}",
    ]


def _share(of: Sequence[Result], hits: Sequence[Result]) -> Share:
    return Share(len(hits), len(of))


def main() -> None:
    """Print what was wrong, then the counts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--processes", type=int, default=None)
    given = parser.parse_args()
    with ProcessPoolExecutor(given.processes) as pool:
        results = list(pool.map(judge, range(given.first, given.first + given.count), chunksize=4))
    for r in results:
        due = r.crossing_s is not None
        if (r.stop_s is not None) != due or r.exceeds:
            print(r)
    print("\n".join(told(results)))


if __name__ == "__main__":
    main()
