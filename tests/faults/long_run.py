"""Hours of a simulated run: do memory and open files stay flat?

`python -m tests.faults.long_run [--hours 8] [--every-min 20] [--who]`: one run at 20 samples a
second, the load held all the time, as fast as this computer can. A line each so many simulated
minutes: resident memory and open handles. Exit code 1 where the second half of the run took more
than `FLAT_MIB` or a handle more than its end of the first half. `--who` names the lines of code
whose memory grew most.
"""

from __future__ import annotations

import argparse
import os
import tempfile
import tomllib
import tracemalloc
from dataclasses import dataclass, field, replace
from pathlib import Path

from burnin.core.events import Event, SampleTaken
from burnin.core.ticket_header import Ticket
from burnin.profile.loader import parse_profile
from burnin.record.writer import RecordWriter
from burnin.report.languages.catalogue import catalogue
from burnin.run.begin import plan_run
from burnin.run.bench import Options, open_bench_for
from burnin.run.prompters import NobodyThere
from burnin.run.session import carry_out_with_sinks

FLAT_MIB = 8.0
PERIOD_S = 0.05


def profile_text(load_s: float) -> str:
    """A profile that does nothing but hold a moderate load."""
    return f"""
format = 1
title = "Hours of load"
[pace]
sample_interval_s = {PERIOD_S}
[guards]
gpu_temp_limit_c = 90.0
hotspot_temp_limit_c = 108.0
forecast = true
cooling = "fans"
[[stages]]
stage = "thermal_ramp"
cool_down_s = 10.0
steps = [{{ load_share = 0.6, hold_s = {load_s} }}]
"""


@dataclass
class Watcher:
    """The record of the run; looks at this process each so many simulated seconds."""

    record: RecordWriter
    every_s: float
    who: bool
    looks: list[tuple[float, float, int]] = field(default_factory=list)
    _begun: tracemalloc.Snapshot | None = None

    def __call__(self, event: Event) -> None:
        """Put the event on record; look, where it is time."""
        self.record(event)
        if not isinstance(event, SampleTaken):
            return
        now_s = event.sample.elapsed_s
        if now_s < len(self.looks) * self.every_s:
            return
        mib, handles = resident_mib(), open_handles()
        self.looks.append((now_s, mib, handles))
        print(f"{now_s / 3600:6.2f} h  {mib:8.1f} MiB  {handles} handles", flush=True)
        if self.who and len(self.looks) == 2:
            self._begun = tracemalloc.take_snapshot()

    name = "record"

    def close(self) -> None:
        """The run is over."""
        self.record.close()

    def tell_who(self) -> None:
        """The lines of code that hold most of what was added since the second look."""
        if self._begun is None:
            return
        grown = tracemalloc.take_snapshot().compare_to(self._begun, "lineno")
        for line in grown[:12]:
            print(f"{line.size_diff / 2**20:+8.2f} MiB  {line.traceback}")


def resident_mib() -> float:
    """Resident memory of this process."""
    pages = int(Path("/proc/self/statm").read_text("ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**20


def open_handles() -> int:
    """Open files of this process."""
    return sum(1 for _ in Path("/proc/self/fd").iterdir()) - 1


def flat(looks: list[tuple[float, float, int]]) -> bool:
    """Whether the second half of the looks holds no more than the end of the first."""
    half = looks[len(looks) // 2]
    mib = max(mib for at, mib, _ in looks if at > half[0]) - half[1]
    handles = max(count for at, _, count in looks if at > half[0]) - half[2]
    print(f"second half: {mib:+.1f} MiB, {handles:+d} handles")
    return mib <= FLAT_MIB and handles <= 0


def main() -> int:
    """Run, look, judge."""
    given = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    given.add_argument("--hours", type=float, default=8.0)
    given.add_argument("--every-min", type=float, default=20.0)
    given.add_argument("--who", action="store_true")
    asked = given.parse_args()
    if asked.who:
        tracemalloc.start()
    text = profile_text(asked.hours * 3600.0)
    profile = parse_profile("hours", "hours.toml", text, tomllib.loads(text))
    with tempfile.TemporaryDirectory() as folder:
        options = Options(simulated="healthy")
        bench = open_bench_for(options)
        plan = plan_run(bench, profile, Ticket(), options, Path(folder))
        plan = replace(plan, prompter=NobodyThere())
        writer = RecordWriter(plan.folder, bench.clock, plan.start_s, simulated=True)
        watcher = Watcher(writer, asked.every_min * 60.0, asked.who)
        outcome = carry_out_with_sinks(plan, (), watcher)
        print(f"verdict {outcome.verdict}: {catalogue('en').say(outcome.reason)}")
    watcher.tell_who()
    return 0 if flat(watcher.looks) else 1


if __name__ == "__main__":
    raise SystemExit(main())
