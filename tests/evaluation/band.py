"""Whether the 95 % band holds: `python -m tests.evaluation.band [--held-out] [--prior] [--runs]`.

Each real record is led past the guards of a recording row by row. At each second at which the card
is loaded now or is to be, the reading 10 s and 30 s ahead is told from what was seen so far and the
power that then really came, and compared with the code then read: how often the band held it, and
how wide it was beside the narrowest constant band around the same forecasts that holds 95 % of
these rows. The band is the guard's own; its prior is that of the other hosts. Beside it: the
model's draws alone, the prior without the run's own errors, and a discrepancy state in place of
the run's distribution. `--held-out`: records looked at after everything was set, with the shipped
prior.
"""

from __future__ import annotations

import argparse
import io
from collections.abc import Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from burnin.replay.case import case_of_recording
from burnin.replay.judging import Judging
from burnin.replay.recording_file import Recording, open_recording
from burnin.thermal.trials.errors import Judged, RunErrors, Standing
from burnin.thermal.trials.judge import ForecastJudge, expected_and_scale
from burnin.thermal.trials.prior_errors import LEVELS, PRIOR, Quantiles
from tests.evaluation.discrepancy import discrepancy
from tests.evaluation.physics import Array
from tests.evaluation.real_records import RealRecord, held_out, in_sight
from tests.evaluation.recorded import AHEAD_S, EVERY_S, LONGEST_GAP_S, played
from tests.evaluation.score import Share

LIMIT_C = 95.0
"""Of no account here: nothing is stopped."""
Prior = dict[float, Quantiles]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Led:
    """What one record gave: rows of `FIELDS`, and each forecast judged on line."""

    record: RealRecord
    rows: Array
    judged: list[Judged]

    def of(self, ahead_s: float) -> dict[str, Array]:
        """Columns of the rows that look so far ahead."""
        return dict(zip(FIELDS, self.rows[self.rows[:, 1] == ahead_s].T, strict=True))


FIELDS = (
    "at_s", "ahead_s", "read_c", "expected_c", "model_low_c", "model_high_c", "scale_k",
    "low_c", "high_c", "wrong", "loaded",
)  # fmt: skip


def lead(task: tuple[RealRecord, Prior]) -> Led:
    """Lead a record past its guards, with the errors of other hosts as told."""
    record, prior = task
    whole = played(_opened(record))
    judging, heard = Judging(case_of_recording(_opened(record))), list[Judged]()
    guard = judging.guards.forecast
    assert guard is not None
    guard.trials = trials = ForecastJudge(RunErrors(prior), heard.append)
    watch, due_s, rows = guard.watch, whole.time_s[0] + 1.0, []
    for sample in whole.samples:
        judging.judge(sample)
        now_s = sample.elapsed_s
        if now_s < due_s or watch.last is None or watch.last.time_s != now_s:
            continue
        due_s = now_s + EVERY_S
        for ahead_s in AHEAD_S:
            then_s = now_s + ahead_s
            then = int(np.searchsorted(whole.time_s, then_s))
            if then >= len(whole.time_s) or np.diff(whole.time_s[then - 1 : then + 1]).max() > (
                LONGEST_GAP_S
            ):
                continue
            plan = whole.plan(now_s, ahead_s)
            model, scale = expected_and_scale(watch, plan, ahead_s)
            told = trials.tell(watch, plan, ahead_s)
            rows.append((
                now_s, ahead_s, whole.die_c[then], model.value, model.low, model.high, scale,
                told.die_c.low, told.die_c.high, told.standing is Standing.WRONG,
                whole.loaded(now_s, ahead_s),
            ))  # fmt: skip
    return Led(record, np.array(rows, dtype=float).reshape(-1, len(FIELDS)), heard)


def _opened(record: RealRecord) -> Recording:
    recording = open_recording(record.name, io.StringIO(record.text))
    recording.known = replace(recording.known, cooling="stream", limit_c=LIMIT_C)
    return recording


def prior_of(led: Iterable[Led], without: str | None = None) -> Prior:
    """Quantiles of the errors judged on line, each host counting the same."""
    hosts: dict[str, list[Judged]] = {}
    for one in led:
        if one.record.host != without:
            hosts.setdefault(one.record.host, []).extend(one.judged)
    even = (np.arange(200) + 0.5) / 200
    prior = {}
    for ahead_s in PRIOR:
        each = [[j.off for j in judged if j.ahead_s == ahead_s] for judged in hosts.values()]
        together = np.concatenate([np.quantile(off, even) for off in each if off])
        prior[ahead_s] = tuple(np.quantile(together, LEVELS).round(2).tolist())
    return prior


def narrowest_k(off: Array) -> float:
    """Width of the narrowest constant band that holds 95 % of these."""
    held = int(np.ceil(0.95 * len(off)))
    ordered = np.sort(off)
    return float((ordered[held - 1 :] - ordered[: len(off) - held + 1]).min())


def drawn_by_run(held: Sequence[Flags], seed: int = 1) -> str:
    """95 % interval of the share, whole runs drawn anew: neighbouring rows are alike."""
    rng = np.random.default_rng(seed)
    hits, of = (np.array([f(h) for h in held], dtype=float) for f in (np.sum, len))
    picks = rng.integers(0, len(held), (2000, len(held)))
    low, high = np.percentile(hits[picks].sum(1) / of[picks].sum(1), [2.5, 97.5])
    return f"{100 * low:.1f}-{100 * high:.1f} %"


@dataclass(frozen=True)
class Band:
    """A way to tell a band: its bounds about the expected reading at each row, K."""

    name: str
    low_k: Array
    high_k: Array


def bands(led: Led, ahead_s: float, prior: Prior) -> list[Band]:
    """The ways that are compared."""
    c = led.of(ahead_s)
    off, scale = c["read_c"] - c["expected_c"], c["scale_k"]
    fixed = float(np.interp(0.95, LEVELS, prior[ahead_s])) * scale
    low_k, high_k = discrepancy(c["at_s"], ahead_s, off, fixed)
    return [
        Band("the model's draws alone", c["model_low_c"] - c["expected_c"],
             c["model_high_c"] - c["expected_c"]),
        Band("errors of other hosts alone", -fixed, fixed),
        Band("a discrepancy state", low_k, high_k),
        Band("conformal, as the guard tells it", c["low_c"] - c["expected_c"],
             c["high_c"] - c["expected_c"]),
    ]  # fmt: skip


def table(all_led: Sequence[Led], priors: dict[str, Prior]) -> list[str]:
    """A row a way and a time ahead."""
    lines = [
        "| s ahead | band | held the reading | drawn by run | mean width, K "
        "| beside the narrowest constant | cost, K | worst host | mean miss of 95 % a run |",
        "| --- " * 9 + "|",
    ]
    for ahead_s in AHEAD_S:
        found: dict[str, list[tuple[str, Flags, Array, Array, Array]]] = {}
        for led in all_led:
            c = led.of(ahead_s)
            if not len(c["at_s"]):
                continue
            there = c["loaded"] > 0.0
            off = c["read_c"] - c["expected_c"]
            for band in bands(led, ahead_s, priors[led.record.host]):
                outside = np.maximum(band.low_k - off, off - band.high_k)[there]
                width = (band.high_k - band.low_k)[there]
                cost = width + 40.0 * np.maximum(outside, 0.0)
                kept = (led.record.host, outside <= 0.0, width, cost, off[there])
                found.setdefault(band.name, []).append(kept)
        for name, runs in found.items():
            held, width, cost, off = (np.concatenate([r[k] for r in runs]) for k in range(1, 5))
            of_host = {
                host: np.concatenate([r[1] for r in runs if r[0] == host]) for host, *_ in runs
            }
            worst = min(of_host, key=lambda host: float(of_host[host].mean()))
            miss = np.mean([abs(r[1].mean() - 0.95) for r in runs if len(r[1]) >= 30])
            lines.append(
                f"| {ahead_s:.0f} | {name} | {Share(int(held.sum()), len(held))} "
                f"| {drawn_by_run([r[1] for r in runs])} "
                f"| {width.mean():.1f} | {width.mean() / narrowest_k(off):.2f} "
                f"of {narrowest_k(off):.1f} | {cost.mean():.1f} "
                f"| {worst} {100 * of_host[worst].mean():.0f} % | {100 * miss:.1f} points |"
            )
    return lines


def by_run(all_led: Sequence[Led]) -> list[str]:
    """A row a record and a time ahead, of the guard's own band."""
    lines = ["| record | host | s ahead | held the reading | mean width, K | told wrong |"]
    lines += ["| --- " * 6 + "|"]
    for led in all_led:
        for ahead_s in AHEAD_S:
            c = led.of(ahead_s)
            there = c["loaded"] > 0.0
            if not there.any():
                continue
            held = ((c["low_c"] <= c["read_c"]) & (c["read_c"] <= c["high_c"]))[there]
            width = (c["high_c"] - c["low_c"])[there].mean()
            lines.append(
                f"| {led.record.name} | {led.record.host} | {ahead_s:.0f} "
                f"| {Share(int(held.sum()), len(held))} | {width:.1f} "
                f"| {100 * c['wrong'][there].mean():.0f} % |"
            )
    return lines


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--held-out", action="store_true", help="the records not tuned on")
    parser.add_argument("--prior", action="store_true", help="print the prior of every host")
    parser.add_argument("--runs", action="store_true", help="also each record by itself")
    given = parser.parse_args()
    with ProcessPoolExecutor() as pool:
        if given.held_out:
            led = list(pool.map(lead, [(record, PRIOR) for record in held_out()]))
            priors = {one.record.host: PRIOR for one in led}
        else:
            records = list(in_sight())
            first = list(pool.map(lead, [(record, PRIOR) for record in records]))
            if given.prior:
                print(prior_of(first))
            hosts = {record.host for record in records}
            priors = {host: prior_of(first, without=host) for host in hosts}
            led = list(pool.map(lead, [(record, priors[record.host]) for record in records]))
    print("\n".join(table(led, priors)))
    if given.runs:
        print("\n".join(["", *by_run(led)]))


if __name__ == "__main__":
    main()
