"""What readings allow at all: `python -m tests.evaluation.readings_oracle --count 600`.

An oracle that knows every reading of a run, those to come too, and nothing else: neither the true
temperature nor whether it crosses. It stops `ahead_s` before a reading first comes within
`margin_k` of its limit, if one ever does while the load goes on; a margin below 0 lets readings go
over the limit. No guard that goes by how near readings come to a limit has more to go by, and none
knows the future. What is missed and what is stopped needlessly are shares of faulty cards alone:
they bound an oracle too that knows besides which cards are faulty. No guard is run.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

import numpy as np

from tests.evaluation.physics import Array
from tests.evaluation.score import Share
from tests.others.thermal.drawn import Scenario, scenario

MARGINS_K = (-3.0, -2.0, -1.0, -0.5, 0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0)
AHEAD_S = (0.5, 2.0, 5.0, 10.0)
MISSED_AT_MOST, NEEDLESS_AT_MOST = 0.01, 0.02
"""What is asked of a guard on unseen scenarios; besides, no sound card may be stopped."""


@dataclass(frozen=True)
class Read:
    """One scenario as the oracle and its judge see it; times in s, None: never.

    `nears_k`: how far the hottest reading so far is from its limit at each of `time_s`, K.
    """

    time_s: Array
    nears_k: Array
    sound: bool
    onset_s: float | None
    crossing_s: float | None
    offset_k: float
    period_s: float
    late_s: float
    broken: bool

    def stop_s(self, margin_k: float, ahead_s: float) -> float | None:
        """When the oracle stops; never before the first row."""
        place = int(np.searchsorted(-self.nears_k, -margin_k))
        if place == len(self.time_s):
            return None
        return max(float(self.time_s[0]), float(self.time_s[place]) - ahead_s)


def read(seed: int) -> Read:
    """Draw a scenario and keep what is read of it."""
    return read_of(scenario(seed))


def read_of(drawn: Scenario) -> Read:
    """What is read of a scenario."""
    rows, bench, truth, sensors = drawn.rows, drawn.bench, drawn.truth, drawn.course.sensors
    left_k = bench.limit_c - rows.die_c
    if bench.hotspot_limit_c is not None and rows.hotspot_c is not None:
        left_k = np.fmin(left_k, bench.hotspot_limit_c - rows.hotspot_c)
    left_k = np.where(np.isfinite(left_k), left_k, np.inf)
    return Read(
        rows.time_s, np.minimum.accumulate(left_k), truth.cause == "none", truth.onset_s,
        truth.crossing_s, truth.offset_k, sensors.period_s, sensors.late_s + sensors.lag_s,
        truth.cause == "sensor",
    )  # fmt: skip


@dataclass(frozen=True)
class Outcome:
    """What came of it at one margin and one time ahead."""

    margin_k: float
    ahead_s: float
    missed: Share
    sound: Share
    before: Share
    needless: Share

    @property
    def meets_all(self) -> bool:
        """Whether it has all that is asked at once."""
        return self.sound.hits == 0 and self.before.hits == 0 and self.meets_of_faulty

    @property
    def meets_of_faulty(self) -> bool:
        """The same, were it told which cards are faulty."""
        return self.needless.value <= NEEDLESS_AT_MOST and self.missed.value <= MISSED_AT_MOST

    def line(self) -> str:
        """A row of the table."""
        return (
            f"| {self.margin_k:+.1f} | {self.ahead_s:g} | {self.missed} | {self.sound} "
            f"| {self.before} | {self.needless} |"
        )


def outcome(runs: Sequence[Read], margin_k: float, ahead_s: float) -> Outcome:
    """Count it."""
    stops = [(run, run.stop_s(margin_k, ahead_s)) for run in runs]
    due = [(r, s) for r, s in stops if r.crossing_s is not None]
    later = [(r, s) for r, s in stops if not r.sound and r.onset_s]
    rest = [(r, s) for r, s in stops if not r.sound and r.crossing_s is None]
    sound = [s for r, s in stops if r.sound]
    return Outcome(
        margin_k, ahead_s,
        _share(s is None or s > (r.crossing_s or 0.0) for r, s in due),
        _share(s is not None for s in sound),
        _share(s is not None and s < (r.onset_s or 0.0) for r, s in later),
        _share(s is not None for _, s in rest),
    )  # fmt: skip


def _share(flags: Iterable[bool]) -> Share:
    told = list(flags)
    return Share(sum(told), len(told))


def frontier(outcomes: Iterable[Outcome]) -> list[Outcome]:
    """Those that no other beats in what is missed and in both kinds of stops that were not due."""
    them = list(outcomes)

    def costs(o: Outcome) -> tuple[float, float, float]:
        return o.missed.value, o.sound.value + o.before.value, o.needless.value

    def beaten(o: Outcome) -> bool:
        mine = costs(o)
        return any(
            costs(p) != mine and all(a <= b for a, b in zip(costs(p), mine, strict=True))
            for p in them
        )

    return [o for o in them if not beaten(o)]


SENSORS: dict[str, Callable[[Read], bool]] = {
    "as drawn": lambda _: True,
    "no sensor broken": lambda r: not r.broken,
    "off by 1 K at most": lambda r: not r.broken and abs(r.offset_k) <= 1.0,
    "off by 1 K, 5 rows a second, 1 s late at most": lambda r: (
        not r.broken and abs(r.offset_k) <= 1.0 and r.period_s <= 0.2 and r.late_s <= 1.0
    ),
}
"""Of all scenarios those whose sensor is so good."""


def told(runs: Sequence[Read]) -> list[str]:
    """A table a kind of sensor: the frontier, and whether anything on it meets all at once."""
    lines = []
    for name, good in SENSORS.items():
        some = [run for run in runs if good(run)]
        every = [outcome(some, margin, ahead) for margin in MARGINS_K for ahead in AHEAD_S]
        best = frontier(every)
        meets, of_faulty = (
            sum(flags)
            for flags in ([o.meets_all for o in every], [o.meets_of_faulty for o in every])
        )
        lines += [
            "",
            f"{name}, {len(some)} scenarios: of {len(every)} settings {meets} have all that is"
            f" asked at once, {of_faulty} what is asked of faulty cards",
            "| margin, K | ahead, s | missed | sound stopped | before the fault | not to cross |",
            "| --- " * 6 + "|",
            *(o.line() for o in sorted(best, key=lambda o: (o.margin_k, o.ahead_s))),
        ]
    return lines


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--count", type=int, default=600)
    parser.add_argument("--processes", type=int, default=None)
    given = parser.parse_args()
    seeds = range(given.first, given.first + given.count)
    with ProcessPoolExecutor(given.processes) as pool:
        runs = list(pool.map(read, seeds, chunksize=8))
    print("\n".join(told(runs)))


if __name__ == "__main__":
    main()
