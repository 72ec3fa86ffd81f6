"""Forecasts on records of real cards: `python -m tests.evaluation.recorded FILE… [--cooling WAY]`.

Each file (a run's samples.csv or what `burnin replay` reads) is led past the forecast guard row by
row. At each second at which the card is loaded now or is to be, the reading 10 s and 30 s ahead is
forecast from what was seen so far and the power that then really came, and compared with the code
then read. Also said: whether and when the guards of the replay would have stopped.
"""

from __future__ import annotations

import argparse
import io
import math
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from burnin.core.sample import Sample
from burnin.guard.forecast_guard import ForecastGuard
from burnin.guard.guard import Trip
from burnin.replay.case import case_of_recording
from burnin.replay.judging import Judging
from burnin.replay.recording_file import BadRow, Recording, open_recording
from burnin.report.languages.catalogue import catalogue
from burnin.thermal.inputs import Plan
from burnin.thermal.power_meter import PowerMeter
from burnin.thermal.states import CoolingState
from burnin.thermal.trials.expected_reading import expected_die_c
from tests.evaluation.guard_settings import settings_of
from tests.evaluation.physics import Array

AHEAD_S = (10.0, 30.0)
EVERY_S = 1.0
LOADED_SHARE = 1.3
"""Loaded: over so many times the least power of the record."""
TRAILING_S = 1.0
"""What `power_average_w` is the mean of."""
LONGEST_GAP_S = 5.0
"""Across a longer hole in the record nothing is compared."""


@dataclass(frozen=True)
class Played:
    """A record's rows with what came: mean power and energy at each (s, W, J, °C)."""

    samples: list[Sample]
    time_s: Array
    energy_j: Array
    die_c: Array
    idle_w: float

    def mean_w(self, begin_s: float, end_s: float) -> float:
        """Mean power over a span."""
        low, high = np.interp([begin_s, end_s], self.time_s, self.energy_j)
        return float(high - low) / (end_s - begin_s)

    def plan(self, now_s: float, ahead_s: float) -> Plan:
        """The power that came, second by second."""
        starts = now_s + np.arange(math.ceil(ahead_s))
        steps = tuple((float(s), self.mean_w(s, min(s + 1.0, now_s + ahead_s))) for s in starts)
        return Plan(steps, now_s + ahead_s)

    def loaded(self, now_s: float, ahead_s: float) -> bool:
        """Whether the card is loaded now or in so many seconds."""
        over_w = LOADED_SHARE * self.idle_w
        return (
            self.mean_w(now_s - 1.0, now_s) > over_w
            or self.mean_w(now_s + ahead_s - 1.0, now_s + ahead_s) > over_w
        )


@dataclass(frozen=True)
class Errors:
    """Forecast less reading at each moment, K, for each time ahead; the stop, if any."""

    off_k: dict[float, Array]
    at_s: dict[float, Array]
    stop: tuple[float, Trip] | None
    crossing_s: float
    state: tuple[CoolingState, float]

    def ninth(self, ahead_s: float) -> float:
        """90th percentile of the absolute error, K."""
        return float(np.percentile(np.abs(self.off_k[ahead_s]), 90.0))


def counted(text: str) -> str:
    """A record that has a moment's and a trailing mean power but no counter, with its mean summed.

    That is what a card tells whose reading is a moment and whose counter is exact.
    """
    header, *lines = text.splitlines()
    names = header.split(",")
    if "energy_j" in names or not {"power_instant_w", "power_average_w"} <= set(names):
        return text
    rows = [line.split(",") for line in lines]
    time_s = np.array([float(r[names.index("time_s")]) for r in rows])
    mean_w = np.array([float(r[names.index("power_average_w")]) for r in rows])
    lead_w = np.interp(time_s + 0.5 * TRAILING_S, time_s, mean_w)
    energy_j = np.concatenate([[0.0], np.cumsum(lead_w[1:] * np.diff(time_s))])
    names[names.index("power_instant_w")] = "power_w"
    told = [",".join([*r, f"{e:.3f}"]) for r, e in zip(rows, energy_j.tolist(), strict=True)]
    return "\n".join([",".join([*names, "energy_j"]), *told]) + "\n"


def opened(file: Path, cooling: str | None, limit_c: float | None) -> Recording:
    """The recording with what is set from outside."""
    text = counted(file.read_text(encoding="utf-8"))
    recording = open_recording(str(file), io.StringIO(text))
    said = recording.known
    recording.known = replace(
        said,
        cooling=cooling or said.cooling,
        limit_c=said.limit_c if limit_c is None else limit_c,
    )
    return recording


def judging_of(
    file: Path,
    profile: str | None,
    cooling: str | None = None,
    limit_c: float | None = None,
) -> Judging:
    """The guards that judge a recording: `replay`'s."""
    recording = opened(file, cooling, limit_c)
    return Judging(case_of_recording(recording, settings_of(profile), profile or ""))


def played(recording: Recording) -> Played:
    """Every row of the recording, its power by the counter where there is one."""
    samples = [row for row in recording.rows() if not isinstance(row, BadRow)]
    rows = [r for r in map(ForecastGuard.row, samples) if r is not None]
    meter = PowerMeter()
    mean_w = np.array([meter.take(r.time_s, r.power_w, r.energy_j).mean_w for r in rows])
    time_s = np.array([r.time_s for r in rows])
    energy_j = np.concatenate([[0.0], np.cumsum(mean_w[1:] * np.diff(time_s))])
    seconds = np.arange(time_s[0], time_s[-1], 1.0)
    idle_w = float(np.percentile(np.diff(np.interp(seconds, time_s, energy_j)), 2.0))
    return Played(samples, time_s, energy_j, np.array([r.die_c for r in rows]), idle_w)


def assess(
    file: Path,
    profile: str | None,
    cooling: str | None = None,
    limit_c: float | None = None,
    span_s: tuple[float, float] = (-math.inf, math.inf),
) -> Errors:
    """Lead the record past the guards up to their first stop, and watch it to its end.

    Forecasts are compared where they are made within `span_s`.
    """
    whole = played(opened(file, cooling, limit_c))
    judging = judging_of(file, profile, cooling, limit_c)
    forecast, stop = judging.guards.forecast, None
    assert forecast is not None
    watch = forecast.watch
    due_s = whole.time_s[0] + 1.0
    off: dict[float, list[float]] = {a: [] for a in AHEAD_S}
    at: dict[float, list[float]] = {a: [] for a in AHEAD_S}
    for sample in whole.samples:
        trip = judging.judge(sample)
        if trip is not None:
            stop = sample.elapsed_s, trip
        now_s = sample.elapsed_s
        if now_s < due_s or watch.last is None or watch.last.time_s != now_s:
            continue
        due_s = now_s + EVERY_S
        for ahead_s in AHEAD_S:
            then_s = now_s + ahead_s
            if not span_s[0] <= now_s <= span_s[1] or then_s > whole.time_s[-1]:
                continue
            if whole.loaded(now_s, ahead_s):
                then = int(np.searchsorted(whole.time_s, then_s))
                if np.diff(whole.time_s[max(0, then - 1) : then + 1]).max() > LONGEST_GAP_S:
                    continue
                plan = whole.plan(now_s, ahead_s)
                expected = expected_die_c(watch, plan, ahead_s).value
                off[ahead_s].append(expected - float(whole.die_c[then]))
                at[ahead_s].append(now_s)
    reached = whole.die_c >= watch.setup.limits.die_c
    crossing_s = float(whole.time_s[int(np.argmax(reached))]) if reached.any() else math.inf
    return Errors(
        {a: np.array(v) for a, v in off.items()},
        {a: np.array(v) for a, v in at.items()},
        stop,
        crossing_s,
        forecast.state(),
    )


def describe(file: Path, errors: Errors) -> list[str]:
    """One table row a time ahead."""
    stop = "none" if errors.stop is None else f"{errors.stop[0]:.1f} s ({errors.stop[1].guard})"
    crossing = "no" if math.isinf(errors.crossing_s) else f"{errors.crossing_s:.1f} s"
    rows = []
    for ahead_s, off in errors.off_k.items():
        size = np.abs(off)
        rows.append(
            f"| {file.parent.name}/{file.name} | {ahead_s:.0f} | {len(off)} "
            f"| {np.median(size):.2f} | {np.percentile(size, 90):.2f} | {size.max():.2f} "
            f"| {off.mean():+.2f} | {crossing} | {stop} "
            f"| {errors.state[0]} ({100 * errors.state[1]:.0f} %) |"
        )
    return rows


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("files", nargs="+", type=Path)
    parser.add_argument("--profile", default=None, help="for its limits and way of cooling")
    parser.add_argument("--cooling", default=None, choices=["fans", "water", "stream"])
    parser.add_argument("--limit", type=float, default=None, help="limit set by hand, °C")
    parser.add_argument("--span", type=float, nargs=2, default=(-math.inf, math.inf), metavar="S",
        help="compare forecasts made between these seconds")  # fmt: skip
    parser.add_argument("--all", action="store_true", help="also every error")
    chosen = parser.parse_args()
    print(
        "| record | s ahead | forecasts | median, K | 90 %, K | worst, K | mean, K "
        "| limit reached | stop | cooling |"
    )
    print("| --- " * 10 + "|")
    together: dict[float, list[float]] = {a: [] for a in AHEAD_S}
    for file in chosen.files:
        errors = assess(file, chosen.profile, chosen.cooling, chosen.limit, tuple(chosen.span))
        print("\n".join(describe(file, errors)))
        for ahead_s, off in errors.off_k.items():
            together[ahead_s] += off.tolist()
        if errors.stop is not None:
            print(f"\n{catalogue().say(errors.stop[1].reason)}\n")
        if chosen.all:
            for ahead_s, off in errors.off_k.items():
                listed = zip(errors.at_s[ahead_s].tolist(), off.tolist(), strict=True)
                print(ahead_s, " ".join(f"{t:.0f}:{k:+.1f}" for t, k in listed))
    if len(chosen.files) > 1:
        print("\n".join(pooled(together)))


def pooled(together: dict[float, list[float]]) -> list[str]:
    """One table row a time ahead for the forecasts of every file together."""
    rows = []
    for ahead_s, listed in together.items():
        off = np.array(listed)
        size = np.abs(off)
        rows.append(
            f"| all together | {ahead_s:.0f} | {len(off)} | {np.median(size):.2f} "
            f"| {np.percentile(size, 90):.2f} | {size.max():.2f} | {off.mean():+.2f} | | | |"
        )
    return rows


if __name__ == "__main__":
    main()
