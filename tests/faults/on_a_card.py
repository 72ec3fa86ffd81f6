"""On a real card under full load: supervisors killed, workers stopped, and how long the load lives.

    python -m tests.faults.on_a_card --kills 50 --stops 20 --json results.json

Each trial is a run of the real command, disturbed at a random moment under load. Afterwards: the
card idle (no process of the run on it, utilisation at rest) within 1 s; after a stopped worker also
the worker gone, its memory on the card free, the stage ended with its code and the record closed,
within 3 s. `--software` tries the script itself where there is no card, on software Vulkan.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import psutil

from burnin.core.errors import BurninError
from burnin.engine.process.slice_log import FILE_NAMED_BY
from burnin.record.reader import read_record
from tests.faults.card_seen import (
    LoadOver,
    Seen,
    SeenByDriver,
    SeenByProcesses,
    until_over,
)
from tests.faults.watched_worker import TREE, slices

IDLE_WITHIN_S = 1.0
CLOSED_WITHIN_S = 3.0
_UNTIL_WORKING_S = 180.0
_LOOK_FOR_S = 10.0
_SLICES = 50
_RESTS_S = 1.5
PROFILE = """
format = 1
title = "One long load"

[pace]
sample_interval_s = 0.05

[guards]
gpu_temp_limit_c = {limit_c}

[[stages]]
stage = "compute"
load_s = 600.0
"""


@dataclass(frozen=True)
class Trial:
    """One fault and what came of it; seconds count from the fault. Empty `flaws`: all held."""

    fault: str
    over: LoadOver | None
    last_slice_s: float | None
    stage_reason: str | None
    record_closed_s: float | None
    record_verdict: str
    flaws: tuple[str, ...]


class Command:
    """A run of the real command, with the moment at which each of its events was told."""

    def __init__(self, folder: Path, words: Sequence[str], limit_c: float) -> None:
        folder.mkdir(parents=True)
        home = folder.parent / "home"  # one for all: what drivers translate is kept there
        home.mkdir(exist_ok=True)
        self.log, self.results = folder / "slices", folder / "results"
        profile = folder / "long.toml"
        profile.write_text(PROFILE.format(limit_c=limit_c), "utf-8")
        self._said = folder / "said.txt"
        self.events: list[tuple[float, dict[str, Any]]] = []
        with self._said.open("w") as said:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "burnin", "run", "-p", str(profile), "--unattended",
                 "--json", "--results", str(self.results), *words],
                stdout=subprocess.PIPE, stderr=said, stdin=subprocess.DEVNULL, cwd=TREE, text=True,
                env=os.environ | {FILE_NAMED_BY: str(self.log), "HOME": str(home)},
            )  # fmt: skip
        self._reading = threading.Thread(target=self._read, daemon=True)
        self._reading.start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self.events.append((time.monotonic(), json.loads(line)))

    def worker_pid(self, seen: Seen) -> int:
        """The worker's process id, once the load is seen; raises RuntimeError where none comes."""
        end_s = time.monotonic() + _UNTIL_WORKING_S
        while time.monotonic() < end_s and self.process.poll() is None:
            workers = psutil.Process(self.process.pid).children()
            if workers and len(slices(self.log)) >= _SLICES and seen.works(workers[0].pid):
                return workers[0].pid
            time.sleep(0.05)
        self.end()
        raise RuntimeError(f"no load came: {self._said.read_text('utf-8', 'replace')[-2000:]}")

    def told(self, kind: str) -> tuple[float, dict[str, Any]] | None:
        """When the first event of a class was told, and the event.

        The first stage to finish is the one that was disturbed; what is watched over the whole run
        closes after it.
        """
        found = [(at_s, event) for at_s, event in self.events if event["event"] == kind]
        return found[0] if found else None

    def end(self) -> None:
        """The command is over, or is made to be."""
        try:
            self.process.wait(_LOOK_FOR_S)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        self._reading.join(_LOOK_FOR_S)

    def verdict(self) -> str:
        """What the record says; empty where nobody can read it."""
        for file in self.results.glob("*/*/run.json"):
            try:
                return str(read_record(file.parent).run.verdict)
            except BurninError:
                return ""
        return ""


def trial(fault: str, command: Command, seen: Seen, moment_s: float) -> Trial:
    """Let the run come to its load, disturb it, and look."""
    before = seen.resting()
    worker = command.worker_pid(seen)
    time.sleep(moment_s)
    begun_s = time.monotonic()
    if fault == "kill":
        command.process.kill()
    else:
        os.kill(worker, signal.SIGSTOP)
    over = until_over(seen, worker, before, begun_s, _LOOK_FOR_S)
    command.end()
    last = max((one.begun_s for one in slices(command.log)), default=begun_s)
    stage, closed = command.told("StageFinished"), command.told("RunFinished")
    reasons = [] if stage is None else [reason["code"] for reason in stage[1]["reasons"]]
    found = Trial(
        fault,
        over,
        last - begun_s,
        reasons[0] if reasons else None,
        None if closed is None else closed[0] - begun_s,
        command.verdict(),
        (),
    )
    return Trial(**{**vars(found), "flaws": tuple(_flaws(found))})


def _flaws(found: Trial) -> list[str]:
    over = found.over
    assert over is not None
    stopped = found.fault == "stop"
    bounds = {
        "the run's process is on the card": (over.process_off_card_s, IDLE_WITHIN_S),
        "the card works": (over.idle_s, IDLE_WITHIN_S),
        "a slice was begun": (found.last_slice_s, IDLE_WITHIN_S),
    }
    if stopped:
        bounds |= {
            "the worker is there": (over.worker_gone_s, CLOSED_WITHIN_S),
            "the worker's memory is taken": (over.memory_free_s, CLOSED_WITHIN_S),
            "the record is open": (found.record_closed_s, CLOSED_WITHIN_S),
        }
    flaws = [
        f"{what} after {bound_s:g} s" + ("" if took_s is None else f" ({took_s:.2f} s)")
        for what, (took_s, bound_s) in bounds.items()
        if took_s is None or took_s > bound_s
    ]
    if stopped and found.stage_reason != "worker_given_up":
        flaws.append(f"the stage ended with {found.stage_reason}")
    if found.record_verdict != ("conditional" if stopped else "incomplete"):
        flaws.append(f"the record says {found.record_verdict!r}")
    return flaws


def summary(trials: Sequence[Trial]) -> str:
    """One line."""
    parts = []
    for fault, title in (("kill", "supervisors killed"), ("stop", "workers stopped")):
        of_it = [one for one in trials if one.fault == fault]
        if not of_it:
            continue
        overs = [one.over or LoadOver(None, None, None, None) for one in of_it]
        part = f"{len(of_it)} {title}: " + ", ".join((
            f"card idle after at most {_most([over.idle_s for over in overs])}",
            f"off the card after {_most([over.process_off_card_s for over in overs])}",
            f"last slice {_most([t.last_slice_s for t in of_it])}",
        ))
        if fault == "stop":
            part += f", record closed after {_most([t.record_closed_s for t in of_it])}"
        parts.append(part)
    flawed = sum(bool(one.flaws) for one in trials)
    return f"{'; '.join(parts)}; {flawed} of {len(trials)} past a bound"


def _most(values: Sequence[float | None]) -> str:
    known = [value for value in values if value is not None]
    return "never" if len(known) < len(values) or not known else f"{max(known):.2f} s"


def main(arguments: Sequence[str] | None = None) -> int:
    """Carry out the trials; 0 where every bound held."""
    parser = argparse.ArgumentParser(prog="tests.faults.on_a_card", description=__doc__)
    parser.add_argument("--kills", type=int, default=50, help="supervisors killed (SIGKILL)")
    parser.add_argument("--stops", type=int, default=20, help="workers stopped (SIGSTOP)")
    parser.add_argument("--card", default="", help="bus address, where there are several")
    parser.add_argument("--engine", default="cuda")
    parser.add_argument("--limit-c", type=float, default=90.0, help="guard on the GPU, °C")
    parser.add_argument("--software", action="store_true", help="software Vulkan in a card's place")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", type=Path, help="write every trial there")
    parser.add_argument("--folder", type=Path, help="keep the records there")
    asked = parser.parse_args(arguments)
    words = ["--software-vulkan"] if asked.software else ["--engine", asked.engine]
    words += ["--card", asked.card] if asked.card else []
    seen: Seen = SeenByProcesses() if asked.software else SeenByDriver(asked.card)
    moments = random.Random(asked.seed)
    faults = ["kill"] * asked.kills + ["stop"] * asked.stops
    moments.shuffle(faults)
    trials: list[Trial] = []
    with tempfile.TemporaryDirectory() as scratch:
        folder = asked.folder or Path(scratch)
        for number, fault in enumerate(faults, start=1):
            command = Command(folder / f"{number:03d}-{fault}", words, asked.limit_c)
            try:
                found = trial(fault, command, seen, moments.uniform(0.0, 1.0))
            except RuntimeError as error:
                found = Trial(fault, None, None, None, None, "", (str(error),))
            trials.append(found)
            print(f"{number}/{len(faults)} {fault}: {'; '.join(found.flaws) or 'well'}", flush=True)
            time.sleep(_RESTS_S)  # the driver's means are back at rest
    told = {"summary": summary(trials), "trials": [asdict(one) for one in trials]}
    if asked.json is not None:
        asked.json.write_text(json.dumps(told, indent=1) + "\n", "utf-8")
    print(json.dumps(told["trials"]))
    print(told["summary"])
    return int(any(one.flaws for one in trials))


if __name__ == "__main__":
    sys.exit(main())
