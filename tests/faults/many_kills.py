"""Many runs killed at random and at every event: `python -m tests.faults.many_kills --count 500`.

Prints each fault after which a guarantee did not hold, and in the end one line with the sums.
"""

from __future__ import annotations

import argparse
import random
import shutil
import tempfile
import time
from collections import Counter
from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from burnin.record.chain import HEADED
from tests.faults.fault import AFTER, AT_EVENT, BEFORE, HALF, KILL, Fault
from tests.faults.forked import Forks
from tests.faults.killed_runs import (
    Bench,
    Killed,
    Whole,
    kill_and_go_on,
    room_in_memory,
    whole_run,
)
from tests.faults.used_events import used

SCENARIOS = ("healthy", "stuck_memory", "cracked_capacitor")


def every_event(bench: Bench, scenario: str, work: Path) -> list[Fault]:
    """A kill before and one after each event of a run that begins or ends a stage or the run.

    Of every other kind of event the first and the last of the run.
    """
    list_of_used = work / f"{scenario}.used"
    bench.run(scenario, work / f"{scenario}-events", used=str(list_of_used))
    names = Counter(
        {"sample": "SampleTaken", "reading": "ReadingTaken"}.get(kind, name)
        for kind, _, name, _ in used(list_of_used).elements()
    )
    found: list[Fault] = []
    for name, count in names.items():
        numbers = range(1, count + 1) if name in HEADED else sorted({1, count})
        found += [
            Fault(AT_EVENT, name, nth, when) for nth in numbers for when in (BEFORE, AFTER)
        ]
    return found


def at_random(draw: random.Random, calls_count: int) -> Fault:
    """A kill before, in or after any call by which the record reaches the disk."""
    when = draw.choice((BEFORE, HALF, AFTER))
    return Fault(KILL, "write" if when == HALF else "", draw.randint(1, calls_count), when)


def _planned(
    given: argparse.Namespace, bench: Bench, wholes: Mapping[str, Whole], work: Path
) -> Iterator[tuple[str, Fault]]:
    draw = random.Random(given.seed)
    for _ in range(given.count):
        scenario = draw.choice(SCENARIOS)
        yield scenario, at_random(draw, wholes[scenario].calls_count)
    if given.events:
        for scenario in SCENARIOS:
            for fault in every_event(bench, scenario, work):
                yield scenario, fault


def main() -> int:
    """Kill, sign, resume, compare; the exit code is 0 where every guarantee held."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--count", type=int, default=500, help="kills at random")
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--events", action="store_true", help="every event too, before and after")
    asked.add_argument("--beside", type=int, default=2, help="runs beside one another")
    given = asked.parse_args()
    began = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="kills_", dir=room_in_memory()) as made:
        found = _all_kills(given, Path(made))
    print(summary(found, time.monotonic() - began))
    return 0 if all(one.well for one in found) else 1


def _all_kills(given: argparse.Namespace, work: Path) -> list[Killed]:
    servers = [Forks() for _ in range(given.beside)]
    benches = [Bench(work / f"bench-{n}", forks) for n, forks in enumerate(servers)]
    for bench in benches:
        bench.burnin("shop", "--init")
    wholes = {name: whole_run(benches[0], name, work / f"whole-{name}") for name in SCENARIOS}
    faults = list(_planned(given, benches[0], wholes, work))
    again = random.Random(given.seed + 1)
    free = benches[:]

    def kill(number: int, scenario: str, fault: Fault) -> Killed:
        bench = free.pop()
        folder = work / f"kill-{number}"
        folder.mkdir()
        second = again_at(again, number, wholes[scenario].calls_count)
        try:
            one = kill_and_go_on(bench, wholes[scenario], fault, folder, second)
            if not one.well:
                print(one, flush=True)
            return one
        finally:
            free.append(bench)
            shutil.rmtree(folder, ignore_errors=True)

    with ThreadPoolExecutor(given.beside) as pool:
        numbers, scenarios = range(len(faults)), [scenario for scenario, _ in faults]
        found = list(pool.map(kill, numbers, scenarios, [fault for _, fault in faults]))
    for server in servers:
        server.close()
    return found


def again_at(draw: random.Random, number: int, calls_count: int) -> Fault | None:
    """Every fourth run dies in its resume, too."""
    return at_random(draw, calls_count) if number % 4 == 3 else None


def summary(found: list[Killed], took_s: float) -> str:
    """The line that sums up: what was done, and how often each guarantee did not hold."""
    killed = sum(one.died for one in found)
    verdicts = Counter(str(one.verdict) for one in found if one.verdict is not None)
    told = ", ".join(f"{count} {name}" for name, count in sorted(verdicts.items()))
    return (
        f"many_kills: {len(found)} runs, {killed} killed, "
        f"{sum(not one.begun for one in found)} before their record began, "
        f"rows lost {sum(len(one.lost) for one in found)}, "
        f"better verdicts {sum(one.better for one in found)}, "
        f"other verdicts {sum(one.other for one in found)}, "
        f"unreadable {sum(bool(one.unread) for one in found)}, "
        f"unsignable {sum(bool(one.unsigned) for one in found)}, "
        f"not resumable {sum(bool(one.not_resumed) for one in found)}; "
        f"ended {told}; {took_s:.0f} s"
    )


if __name__ == "__main__":
    raise SystemExit(main())
