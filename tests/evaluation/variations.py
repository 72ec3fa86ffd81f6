"""Real records and their variations: `python -m tests.evaluation.variations [--due] [--new]`.

What benches vary, applied to records of sound cards: every second or third row, one step of noise,
an offset, a record that begins under load, a power reading that is the mean of the last second, a
value that stands for a second. No stop is due in any of them. With `--due` the limit is set so many
kelvin under the hottest reading instead, so that each must be stopped: never after the crossing,
and not long before it.
"""

from __future__ import annotations

import argparse
import gzip
import io
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np
import pandas as pd

from burnin.replay.case import case_of_recording
from burnin.replay.judging import Judging
from burnin.replay.recording_file import BadRow, open_recording
from tests.evaluation.score import Share

DATA = Path(__file__).parents[1] / "data"
LIMIT_C = 85.0
UNDER_K = (4.0, 7.0, 10.0, 14.0, 18.0, 25.0)
COLUMNS = ("time_s", "power_w", "gpu_temp_c", "energy_j", "stage")

Vary = Callable[[pd.DataFrame], pd.DataFrame]


@dataclass(frozen=True)
class Result:
    """What came of one variation: its stop, and when the limit was reached; None: never."""

    record: str
    variation: str
    stop_s: float | None
    guard: str
    crossing_s: float | None
    die_c: float


def records(*, new: bool = False) -> dict[str, pd.DataFrame]:
    """Rows of each real record by its name; all are of sound cards in a stream of air.

    `new`: of the hosts by which no prior was ever set (`data/new_hosts`), and of no others.
    """
    found = {}
    for file in sorted((DATA / ("new_hosts" if new else "whole_runs")).glob("*.csv.gz")):
        found[file.name.split(".")[0]] = _rows(gzip.decompress(file.read_bytes()))
    if new:
        return {name: rows for name, rows in found.items() if "limit" not in name}
    for file in sorted((DATA / "records").glob("*/samples.csv")):
        found[file.parent.name] = _rows(file.read_bytes())
    return found


def _rows(raw: bytes) -> pd.DataFrame:
    rows = pd.read_csv(io.BytesIO(raw)).rename(columns={"elapsed_s": "time_s"})
    rows = rows.dropna(subset=["time_s", "power_w", "gpu_temp_c"])
    return rows[[name for name in COLUMNS if name in rows]].reset_index(drop=True)


def variations(rows: pd.DataFrame) -> Iterator[tuple[str, Vary]]:
    """Each variation by its name."""
    yield "as recorded", pd.DataFrame.copy
    for n in (2, 3, 4, 5):
        yield f"every {n}. row", partial(_thinned, n=n)
    for seed in range(14):
        yield f"noise of a step {seed}", partial(_noisy, seed=seed)
    for off_k in (-2.0, -1.0, 1.0, 2.0):
        yield f"{off_k:+g} K", partial(_off, off_k=off_k)
    hot = rows.time_s[rows.power_w > 0.5 * rows.power_w.max()]
    for part in (0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9):
        begin_s = float(hot.quantile(part))
        yield f"begins under load {part:g}", partial(_begun, begin_s=begin_s)
    yield "mean power of 1 s", _mean_power
    yield "a value a second", _standing
    yield "no counter", _uncounted
    for seed in range(14, 18):
        yield f"every 2. row, noise {seed}", partial(_thinned_and_noisy, n=2, seed=seed)
    for seed in range(18, 21):
        yield f"mean power of 1 s, noise {seed}", partial(_mean_and_noisy, seed=seed)
    for seed in range(21, 27):
        yield f"a fifth of the rows lost {seed}", partial(_lossy, seed=seed)
    for off_k in (-1.5, 1.5):
        yield f"{off_k:+g} K, every 2. row", partial(_off_and_thinned, off_k=off_k)
    for late_s in (0.3, 0.6):
        yield f"power {late_s:g} s late", partial(_late_power, late_s=late_s)


def _thinned(rows: pd.DataFrame, n: int) -> pd.DataFrame:
    return rows.iloc[::n]


def _lossy(rows: pd.DataFrame, seed: int) -> pd.DataFrame:
    kept = np.random.default_rng(seed).random(len(rows)) > 0.2
    return rows[kept]


def _off_and_thinned(rows: pd.DataFrame, off_k: float) -> pd.DataFrame:
    return _off(_thinned(rows, 2), off_k)


def _late_power(rows: pd.DataFrame, late_s: float) -> pd.DataFrame:
    at_s = rows.time_s.to_numpy()
    told_w = np.interp(at_s - late_s, at_s, rows.power_w.to_numpy())
    return rows.assign(power_w=told_w).drop(columns="energy_j", errors="ignore")


def _off(rows: pd.DataFrame, off_k: float) -> pd.DataFrame:
    return rows.assign(gpu_temp_c=rows.gpu_temp_c + off_k)


def _begun(rows: pd.DataFrame, begin_s: float) -> pd.DataFrame:
    return rows[rows.time_s >= begin_s]


def _uncounted(rows: pd.DataFrame) -> pd.DataFrame:
    return rows.drop(columns="energy_j", errors="ignore")


def _noisy(rows: pd.DataFrame, seed: int) -> pd.DataFrame:
    rng = np.random.default_rng(seed)
    return rows.assign(gpu_temp_c=rows.gpu_temp_c + rng.integers(-1, 2, len(rows)))


def _thinned_and_noisy(rows: pd.DataFrame, n: int, seed: int) -> pd.DataFrame:
    return _noisy(_thinned(rows, n), seed)


def _mean_and_noisy(rows: pd.DataFrame, seed: int) -> pd.DataFrame:
    return _noisy(_mean_power(rows), seed)


def _mean_power(rows: pd.DataFrame) -> pd.DataFrame:
    index = pd.to_timedelta(rows.time_s, unit="s")
    mean = pd.Series(rows.power_w.to_numpy(), index=index).rolling("1s").mean()
    return _uncounted(rows).assign(power_w=mean.to_numpy().round(1))


def _standing(rows: pd.DataFrame) -> pd.DataFrame:
    first = rows.groupby(rows.time_s.astype(int)).gpu_temp_c.transform("first")
    return rows.assign(gpu_temp_c=first)


def judge(task: tuple[str, str, pd.DataFrame, float]) -> Result:
    """Lead one variation past the guards of a recording with this limit."""
    record, variation, rows, limit_c = task
    head = f"# limit_c = {limit_c:g}\n# cooling = stream\n"
    text = head + rows.to_csv(index=False)
    case = case_of_recording(open_recording(record, io.StringIO(text)))
    judging = Judging(case)
    reached = rows.time_s[rows.gpu_temp_c >= limit_c]
    crossing_s = None if reached.empty else float(reached.iloc[0])
    for row in case.rows():
        if isinstance(row, BadRow):
            continue
        trip = judging.judge(row)
        if trip is not None:
            die_c = float(rows.gpu_temp_c[rows.time_s >= row.elapsed_s].iloc[0])
            return Result(record, variation, row.elapsed_s, trip.guard, crossing_s, die_c)
    return Result(record, variation, None, "", crossing_s, float(rows.gpu_temp_c.max()))


def tasks(
    *, due: bool, new: bool = False, hosts: Sequence[str] = ("",)
) -> Iterator[tuple[str, str, pd.DataFrame, float]]:
    """Every variation of every record; `due`: with limits that each of them reaches.

    `hosts`: how the names of the records begin that are taken.
    """
    for name, rows in records(new=new).items():
        if not name.startswith(tuple(hosts)):
            continue
        for variation, vary in variations(rows):
            varied = vary(rows)
            if not due:
                yield name, variation, varied, LIMIT_C
                continue
            top_c, least_c = float(varied.gpu_temp_c.max()), float(varied.gpu_temp_c.iloc[0])
            for under_k in UNDER_K:
                if top_c - under_k > least_c + 3.0:
                    yield name, f"{variation}, {under_k:g} K under", varied, top_c - under_k


def main() -> None:
    """Print each stop, then the counts with their intervals."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--due", action="store_true", help="limits that each record reaches")
    parser.add_argument("--new", action="store_true", help="hosts by which no prior was set")
    parser.add_argument("--hosts", nargs="+", default=[""], help="of these hosts alone")
    given = parser.parse_args()
    due, hosts = given.due, given.hosts
    with ProcessPoolExecutor() as pool:
        results = list(pool.map(judge, tasks(due=due, new=given.new, hosts=hosts), chunksize=4))
    stops = [r for r in results if r.stop_s is not None]
    if not due:
        for r in stops:
            print(f"{r.record}, {r.variation}: {r.guard} at {r.stop_s:.1f} s, {r.die_c:g} °C")
        print(f"false stops: {Share(len(stops), len(results))}")
        return
    late = [r for r in results if r.stop_s is None or _lead_s(r) <= 0.0]
    for r in late:
        print(f"late: {r.record}, {r.variation}: {r.guard or 'no stop'}, {_lead_s(r):.1f} s")
    leads = sorted(_lead_s(r) for r in stops)
    print(f"at the crossing or later: {Share(len(late), len(results))}")
    print(f"over 10 s early: {Share(sum(s > 10.0 for s in leads), len(results))}")
    print(f"at least 1 s before: {Share(sum(s >= 1.0 for s in leads), len(results))}")
    print(f"lead, s: {np.percentile(leads, [5, 50, 95]).round(1)}")
    by = pd.Series([r.guard for r in stops]).value_counts()
    print(f"by guard: {by.to_dict()}")


def _lead_s(result: Result) -> float:
    if result.stop_s is None or result.crossing_s is None:
        return -np.inf if result.stop_s is None else np.inf
    return result.crossing_s - result.stop_s


if __name__ == "__main__":
    main()
