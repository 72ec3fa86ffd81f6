"""Whether viewers make a run's samples late: `python -m tests.benchmarks.page_lateness`.

A simulated run at the pace of the clock on the wall (`--pace 1`), 20 samples a second, for
`--seconds`, without a page and with one that `--viewers` look at (the run, the round and the board
in turn), as often as `--rounds` says, in the order without, with, with, without. Prints quantiles
of how much later than its turn a sample was on record, and two-sample tests: Kolmogorov and Smirnov
on the whole distribution, Mann and Whitney on whether one is later. Samples that follow each other
are not independent, so that only every `--every`-th is tested.
"""

from __future__ import annotations

import argparse
import http.client
import multiprocessing
import os
import tempfile
import time
import tomllib
from contextlib import ExitStack
from dataclasses import replace
from pathlib import Path

import numpy as np
import psutil
from scipy import stats

from burnin.core.ticket_header import Ticket
from burnin.profile.loader import parse_profile
from burnin.record.writer import RecordWriter
from burnin.run.begin import plan_run
from burnin.run.bench import Options, open_bench_for
from burnin.run.prompters import NobodyThere
from burnin.run.session import carry_out_with_sinks
from tests.faults.lateness import Timed, late_s
from tests.faults.long_run import profile_text
from tests.others.page.served import Page, served

PLACES = ("/events?", "/round/events?", "/events?language=de&", "/board/events?")


def view(host: str, place: str) -> None:
    """Read a stream of events until this process is ended."""
    connection = http.client.HTTPConnection(host, timeout=60.0)
    connection.request("GET", place)
    reply = connection.getresponse()
    while reply.readline():
        continue


def viewing(page: Page, count: int) -> list[multiprocessing.Process]:
    """Processes that look, each at one page."""
    places = [f"{PLACES[n % len(PLACES)]}key={page.key}" for n in range(count)]
    found = [
        multiprocessing.Process(target=view, args=(page.host, place), daemon=True)
        for place in places
    ]
    for process in found:
        process.start()
    return found


def lateness_ms(seconds: float, viewers: int) -> list[float]:
    """How late each sample of a run came."""
    text = profile_text(seconds)
    profile = parse_profile("lateness", "lateness.toml", text, tomllib.loads(text))
    with tempfile.TemporaryDirectory() as folder, ExitStack() as stack:
        results = Path(folder) / "results"
        options = Options(simulated="healthy", pace=1.0)
        bench = open_bench_for(options)
        if viewers:
            page = stack.enter_context(served(results, Path(folder) / "shop"))
            for process in viewing(page, viewers):
                stack.callback(process.kill)
        plan = replace(
            plan_run(bench, profile, Ticket(), options, results), prompter=NobodyThere()
        )
        timed = Timed(RecordWriter(plan.folder, bench.clock, plan.start_s, simulated=True))
        began_s = time.monotonic()
        carry_out_with_sinks(plan, (), timed)
        if viewers:
            spent = psutil.Process(page.process.pid).cpu_times()
            share = (spent.user + spent.system) / (time.monotonic() - began_s)
            print(f"the page, its start among it, took {share:.1%} of a core")
    return [1e3 * late for late in late_s(timed.came)]


def told(name: str, late_ms: list[float]) -> str:
    """Quantiles in a line."""
    shares = {"median": 50, "90 %": 90, "99 %": 99, "99.9 %": 99.9}
    found = ", ".join(f"{n} {np.percentile(late_ms, q):.2f}" for n, q in shares.items())
    return f"{name}: {len(late_ms)} samples, ms: {found}, worst {max(late_ms):.2f}"


def main() -> None:
    """Print both distributions and what the tests say of them."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--viewers", type=int, default=4)
    parser.add_argument("--rounds", type=int, default=1, help="1: without and with, once each")
    parser.add_argument("--every", type=int, default=5)
    given = parser.parse_args()
    without: list[float] = []
    viewed: list[float] = []
    for n in range(given.rounds):
        for viewers in (0, given.viewers) if n % 2 == 0 else (given.viewers, 0):
            late = lateness_ms(given.seconds, viewers)
            print(told(f"{viewers} viewers", late), f"(load average {os.getloadavg()[0]:.1f})")
            (viewed if viewers else without).extend(late)
    one, other = without[:: given.every], viewed[:: given.every]
    whole = stats.ks_2samp(one, other)
    later = stats.mannwhitneyu(other, one, alternative="greater")
    share = later.statistic / (len(one) * len(other))
    print(
        f"{len(one)} and {len(other)} tested: Kolmogorov-Smirnov D {whole.statistic:.3f},"
        f" p {whole.pvalue:.3g}; later with viewers (Mann-Whitney): p {later.pvalue:.3g},"
        f" a sample with viewers is the later one in {share:.1%} of pairs"
    )


if __name__ == "__main__":
    main()
