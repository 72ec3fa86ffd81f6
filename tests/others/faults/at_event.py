"""Runs `burnin run --json …` and sends a signal at a named event; says what came of it.

`at_event.py --event NAME [--nth N] --to supervisor --signal SIGKILL --told FILE -- COMMAND…`. What
the stream told is kept in FILE. The last line printed begins with `fault:` and is JSON: how long
supervisor and worker lived after the signal, how long the worker still used the processor, the exit
code. A process that is alive when `--wait` seconds are over is ended, and named as having lived on.
"""

import argparse
import json
import os
import signal
import subprocess
import sys
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path

POLL_S = 0.01
WORKER = b"engine.process.worker"


@dataclass
class Watched:
    """What was seen of a run since the signal."""

    sent_at: float = 0.0
    gone_s: dict[str, float] = field(default_factory=dict)
    worked_until_s: float = 0.0
    lived_on: list[str] = field(default_factory=list)


def main() -> int:
    """Run, signal, watch, tell."""
    given = _asked().parse_args()
    run = subprocess.Popen(given.command, stdout=subprocess.PIPE, text=True)
    hit = threading.Event()
    reader = threading.Thread(target=_read, args=(run, given, hit), daemon=True)
    reader.start()
    while not hit.wait(POLL_S) and run.poll() is None:
        pass
    if not hit.is_set():
        reader.join(5.0)
        print("fault: " + json.dumps({"sent": False, "exit": run.wait()}))
        return 98
    seen = _fault(run, given)
    reader.join(5.0)
    print("fault: " + json.dumps({
        "sent": True, "exit": run.returncode, "gone_s": seen.gone_s,
        "worked_until_s": seen.worked_until_s, "lived_on": seen.lived_on}))
    return 0


def _asked() -> argparse.ArgumentParser:
    asked = argparse.ArgumentParser()
    asked.add_argument("--event", required=True)
    asked.add_argument("--having", default="", help="text that the event's line must hold")
    asked.add_argument("--nth", type=int, default=1)
    asked.add_argument("--after", type=float, default=0.0, help="seconds from event to signal")
    asked.add_argument("--to", choices=("supervisor", "worker", "both"), default="supervisor")
    asked.add_argument("--signal", default="SIGKILL")
    asked.add_argument("--again", type=float, default=0.0, help="the same once more, seconds later")
    asked.add_argument("--resume-after", type=float, default=0.0, help="SIGCONT, seconds later")
    asked.add_argument("--wait", type=float, default=15.0)
    asked.add_argument("--told", required=True)
    asked.add_argument("command", nargs="+")
    return asked


def _read(run: subprocess.Popen[str], given: argparse.Namespace, hit: threading.Event) -> None:
    met = 0
    assert run.stdout is not None
    with Path(given.told).open("a", encoding="utf-8") as kept:
        for line in run.stdout:
            kept.write(line)
            kept.flush()
            if f'"event": "{given.event}"' in line and given.having in line:
                met += 1
                if met == given.nth:
                    hit.set()


def _fault(run: subprocess.Popen[str], given: argparse.Namespace) -> Watched:
    time.sleep(given.after)
    worker = _worker(run.pid)
    watched = {"supervisor": run.pid} | ({"worker": worker} if worker else {})
    targets = list(watched.values()) if given.to == "both" else [watched[given.to]]
    number = signal.Signals[given.signal]
    seen = Watched(sent_at=time.monotonic())
    _send(targets, number)
    looks, again, woken = [(0.0, _spent(worker))], given.again, given.resume_after
    while (since := time.monotonic() - seen.sent_at) < given.wait:
        if again and since > again:
            _send(targets, number)
            again = 0.0
        if woken and since > woken:
            _send(targets, signal.SIGCONT)
            woken = 0.0
        run.poll()
        looks.append((since, _spent(worker)))
        if _at_work(looks):
            seen.worked_until_s = round(since, 3)
        for name, pid in watched.items():
            if name not in seen.gone_s and not _alive(pid):
                seen.gone_s[name] = round(since, 3)
        if len(seen.gone_s) == len(watched):
            break
        time.sleep(POLL_S)
    seen.lived_on = [name for name in watched if name not in seen.gone_s]
    _send([watched[name] for name in seen.lived_on], signal.SIGCONT)
    _send([watched[name] for name in seen.lived_on], signal.SIGKILL)
    run.wait()
    return seen


def _at_work(looks: list[tuple[float, int]]) -> bool:
    """Whether the worker spent a third of one processor in the last tenth of a second.

    Looking out for its supervisor, and its own end, cost it a tick of 10 ms each, which is no work.
    """
    since, spent = looks[-1]
    before = next((was for at, was in reversed(looks) if since - at >= 0.1), looks[0][1])
    return spent - before >= 3


def _send(pids: list[int], number: signal.Signals) -> None:
    for pid in pids:
        try:
            os.kill(pid, number)
        except ProcessLookupError:
            continue


def _worker(parent: int) -> int:
    for place in Path("/proc").iterdir():
        if not place.name.isdigit():
            continue
        try:
            status = (place / "stat").read_text().rpartition(")")[2].split()
            if int(status[1]) == parent and WORKER in (place / "cmdline").read_bytes():
                return int(place.name)
        except OSError:
            continue
    return 0


def _alive(pid: int) -> bool:
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except OSError:
        return False
    return state not in "ZX"


def _spent(pid: int) -> int:
    """Processor time in ticks of the system's clock."""
    try:
        parts = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return 0
    return int(parts[11]) + int(parts[12])


if __name__ == "__main__":
    sys.exit(main())
