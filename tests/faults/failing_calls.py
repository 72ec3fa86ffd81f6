"""Runs in which calls fail or are short: `python -m tests.faults.failing_calls --count 200`.

Whatever a call answers, a run ends in one of its exit codes and in a sentence; its verdict stands
only on rows that its record holds; what it leaves can be read, and gone on with on a sound disk.
"""

from __future__ import annotations

import argparse
import errno
import random
import shutil
import tempfile
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from burnin.core.errors import BurninError
from burnin.core.verdict import RunVerdict
from burnin.record.reader import Record, read_record
from tests.faults.fault import FAIL, SHORT, Fault
from tests.faults.forked import Forks
from tests.faults.killed_runs import Bench, Whole, folder_in, room_in_memory, whole_run
from tests.faults.used_events import held, used

ERRORS = ("EIO", "ENOSPC", "EROFS", "EACCES", "EINTR", "EDQUOT")
CALLS = ("write", "fdatasync", "fsync", "replace", "open")
CODES = (0, 1, 2, 3, 4)
CRASH = "Traceback (most recent call last)"


@dataclass(frozen=True)
class Failed:
    """What came of a run with a failing call; `flaws` names what must not be."""

    fault: Fault
    code: int
    verdict: RunVerdict | None
    flaws: tuple[str, ...]

    def __str__(self) -> str:
        told = self.verdict or "no record"
        return f"{self.fault}: exit {self.code}, {told}: {'; '.join(self.flaws) or 'well'}"


def at_random(draw: random.Random) -> Fault:
    """A call that fails once or for ever, or a write that is short."""
    name, times = draw.choice(CALLS), draw.choice((0, 1, 1, 2))
    most = {"write": 330, "fdatasync": 330, "fsync": 24, "replace": 14, "open": 30}[name]
    nth = draw.randint(1, most)
    if name == "write" and draw.random() < 0.4:
        return Fault(SHORT, name, nth, times=times, file="/results/")
    return Fault(FAIL, name, nth, error=draw.choice(ERRORS), times=times, file="/results/")


def fail(bench: Bench, whole: Whole, fault: Fault, work: Path) -> Failed:
    """A run with the fault, and a resume without it."""
    results, list_of_used = work / "results", work / "used.jsonl"
    code, said = bench.run(whole.scenario, results, fault=fault, used=str(list_of_used))
    flaws = []
    if code not in CODES:
        flaws.append(f"exit code {code}: {said.strip()[-300:]}")
    if CRASH in said:
        flaws.append("traceback")
    folder = folder_in(results)
    if folder is None or not (folder / "run.json").exists():
        if used(list_of_used):
            flaws.append("rows were used and no record is there")
        return Failed(fault, code, None, tuple(flaws))
    try:
        record = read_record(folder)
    except BurninError as error:
        return Failed(fault, code, None, (*flaws, f"unread: {error}"))
    lost = list(used(list_of_used) - held(record))
    flaws += [f"lost {row}" for row in lost[:3]]
    verdict = record.run.verdict
    if verdict is RunVerdict.INCOMPLETE and code != 2:
        flaws.append(f"exit {code} without a verdict")
    if verdict not in {RunVerdict.INCOMPLETE, whole.verdict} and not _owed_for_it(record, fault):
        flaws.append(f"ended {verdict}")
    if verdict is RunVerdict.INCOMPLETE:
        resumed, said = bench.burnin("run", "--resume", str(folder), "--unattended")
        after = read_record(folder).run.verdict
        if after is not whole.verdict:
            flaws.append(f"resumed to {after}, exit {resumed}: {said.strip()[-200:]}")
    return Failed(fault, code, verdict, tuple(flaws))


def _owed_for_it(record: Record, fault: Fault) -> bool:
    """Conditional, since a stage is owed that says in the system's words which call failed."""
    said = f"[Errno {getattr(errno, fault.error)}]"
    because = (dict(one.reason.data).get("words") for one in record.run.owed)
    return record.run.verdict is RunVerdict.CONDITIONAL and any(
        said in str(told) for told in because
    )


def main() -> int:
    """Fail, resume, compare; the exit code is 0 where every run ended as it must."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--count", type=int, default=200)
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    began, draw, found = time.monotonic(), random.Random(given.seed), list[Failed]()
    room = tempfile.TemporaryDirectory(prefix="fails_", dir=room_in_memory())
    with room as made, Forks() as forks:
        work = Path(made)
        bench = Bench(work / "bench", forks)
        bench.burnin("shop", "--init")
        whole = whole_run(bench, "healthy", work / "whole")
        for number in range(given.count):
            folder = work / f"fail-{number}"
            folder.mkdir()
            found.append(fail(bench, whole, at_random(draw), folder))
            shutil.rmtree(folder)
            if found[-1].flaws:
                print(found[-1], flush=True)
    print(summary(found, time.monotonic() - began))
    return 0 if not any(one.flaws for one in found) else 1


def summary(found: list[Failed], took_s: float) -> str:
    """The line that sums up."""
    ended = Counter(f"exit {one.code}" for one in found)
    told = ", ".join(f"{count} {name}" for name, count in sorted(ended.items()))
    return (
        f"failing_calls: {len(found)} runs, {sum(bool(one.flaws) for one in found)} not as they"
        f" must; {told}; {took_s:.0f} s"
    )


if __name__ == "__main__":
    raise SystemExit(main())
