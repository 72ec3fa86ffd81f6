"""How late samples come by the wall clock, at 20 a second, with every core busy beside it.

`python -m tests.faults.lateness [--seconds 20] [--folder DIR]`: a simulated run at the pace of the
clock on the wall (`--pace 1`), its tables on the disk that DIR lies on, one busy process a core.
Prints quantiles of how much later than its turn each sample was on record; exit code 1 where the
99th percentile is not under half a period. The long form is 900 seconds.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import tempfile
import time
import tomllib
from dataclasses import dataclass, field, replace
from itertools import pairwise
from pathlib import Path

from burnin.core.events import Event, SampleTaken
from burnin.core.ticket_header import Ticket
from burnin.profile.loader import parse_profile
from burnin.record.writer import RecordWriter
from burnin.run.begin import plan_run
from burnin.run.bench import Options, open_bench_for
from burnin.run.prompters import NobodyThere
from burnin.run.session import carry_out_with_sinks
from tests.faults.long_run import PERIOD_S, profile_text


@dataclass
class Timed:
    """The record of the run, and when each sample came by the wall clock and by the run's."""

    record: RecordWriter
    came: list[tuple[float, float]] = field(default_factory=list)

    name = "record"

    def __call__(self, event: Event) -> None:
        """Note when a sample came, then put it on record."""
        if isinstance(event, SampleTaken):
            self.came.append((time.monotonic(), event.sample.elapsed_s))
        self.record(event)

    def close(self) -> None:
        """The run is over."""
        self.record.close()


def busy() -> None:
    """Work a core until this process is ended."""
    while True:
        sum(range(10_000))


def late_s(came: list[tuple[float, float]]) -> list[float]:
    """By how much each sample's distance from the one before was longer than it was to be."""
    return [
        max(0.0, (wall_s - wall_before_s) - (run_s - run_before_s))
        for (wall_before_s, run_before_s), (wall_s, run_s) in pairwise(came)
    ]


def main() -> int:
    """Run beside busy cores; say how late samples were."""
    given = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    given.add_argument("--seconds", type=float, default=20.0)
    given.add_argument("--folder", type=Path, default=None)
    asked = given.parse_args()
    text = profile_text(asked.seconds)
    profile = parse_profile("lateness", "lateness.toml", text, tomllib.loads(text))
    cores = len(os.sched_getaffinity(0))
    beside = [multiprocessing.Process(target=busy, daemon=True) for _ in range(cores)]
    with tempfile.TemporaryDirectory(dir=asked.folder) as folder:
        options = Options(simulated="healthy", pace=1.0)
        bench = open_bench_for(options)
        plan = plan_run(bench, profile, Ticket(), options, Path(folder))
        plan = replace(plan, prompter=NobodyThere())
        writer = RecordWriter(plan.folder, bench.clock, plan.start_s, simulated=True)
        timed = Timed(writer)
        for process in beside:
            process.start()
        try:
            carry_out_with_sinks(plan, (), timed)
        finally:
            for process in beside:
                process.kill()
    late = sorted(late_s(timed.came))
    tell = {share: late[min(len(late) - 1, int(share * len(late)))] for share in (0.5, 0.9, 0.99)}
    told = ", ".join(f"{share:.0%} under {value * 1e3:.1f} ms" for share, value in tell.items())
    print(f"{len(late)} samples, {cores} cores busy: {told}, worst {late[-1] * 1e3:.1f} ms")
    return 0 if tell[0.99] < PERIOD_S / 2 else 1


if __name__ == "__main__":
    raise SystemExit(main())
