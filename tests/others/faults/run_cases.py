"""Carries out the cases of this folder and prints what came of each.

`python -m tests.others.faults.run_cases [--only ID]`. A case is a list of shell commands in a fresh
folder with an account of its own: `{burnin}` is the command, `{results}` the folder of records,
`{record}` the record begun last, `{here}` this folder, `{python}` the interpreter, `{edit}`,
`{failing}` and `{at_event}` its helpers. The last command is the one whose exit code, time and
writing are judged; `told` names files with what `--json` printed, whose rows the record must hold.
"""

import argparse
import json
import os
import re
import resource
import signal
import subprocess
import sys
import tempfile
import time
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from tests.others.faults.rows import lost_rows
from tests.others.word_holds.run_cases import CANNOT_BE_TOLD, command

HERE = Path(__file__).parent
LISTS = ("signals.toml", "failing_io.toml", "sensors.toml", "hostile_setup.toml",
         "hostile_tickets.toml", "hostile_records.toml", "hostile_outside.toml",
         "clocks_and_locks.toml")
STEP_WITHIN_S = 240.0
HUNG = 124
CRASHES = ("Traceback (most recent call last)", "the tool itself failed")


@dataclass(frozen=True)
class Case:
    """One fault: what is done and why, what the rules demand, what it gave when it was drawn."""

    id: str
    kind: str
    what: str
    why: str
    expect: str
    steps: tuple[str, ...] = ()
    gave: str = ""
    needs: str = ""
    exit_codes: tuple[int, ...] = ()
    exit_not: tuple[int, ...] = ()
    verdict_in: tuple[str, ...] = ()
    verdict_not: tuple[str, ...] = ()
    says_any: tuple[str, ...] = ()
    says_all: tuple[str, ...] = ()
    says_none: tuple[str, ...] = ()
    told: tuple[str, ...] = ()
    gone_within_s: float = 0.0      # the worker, after the signal
    works_within_s: float = 0.0     # the worker's last use of the processor, after the signal
    ended_within_s: float = 0.0     # the supervisor, after the signal
    cpu_within_s: float = 0.0       # processor time of the last step
    writes_nothing: bool = False
    open: bool = False

    @property
    def can_be_told(self) -> bool:
        """Whether the case can be carried out today."""
        return self.gave != CANNOT_BE_TOLD


@dataclass(frozen=True)
class Outcome:
    """What the steps of a case left behind."""

    exit_codes: tuple[int, ...]
    verdict: str
    said: str
    said_last: str
    fault: dict[str, Any]
    lost: tuple[str, ...]
    written: tuple[str, ...]
    cpu_s: float

    @property
    def last_exit(self) -> int:
        """Exit code of the last step."""
        return self.exit_codes[-1]

    def in_a_line(self) -> str:
        """For `gave`."""
        parts = ["hung, ended by hand" if self.last_exit == HUNG else f"exit {self.last_exit}"]
        parts += [self.verdict] if self.verdict else []
        if self.fault:
            gone = self.fault.get("gone_s", {})
            parts += [f"{name} gone after {gone[name]:.2f} s" for name in gone]
            parts += [f"{name} lived on" for name in self.fault.get("lived_on", [])]
        parts += [f"{len(self.lost)} told rows lost"] if self.lost else []
        parts += ["traceback" for mark in CRASHES[:1] if mark in self.said]
        return ", ".join(parts)


def cases(name: str) -> list[Case]:
    """The cases of one list."""
    read = tomllib.loads((HERE / name).read_text("utf-8"))
    known = {each.name for each in fields(Case)}
    found: list[Case] = []
    for entry in read.get("case", []):
        given: dict[str, Any] = {
            "kind" if key == "class" else key: tuple(value) if isinstance(value, list) else value
            for key, value in (read.get("all", {}) | entry).items()}
        assert set(given) <= known, f"{name}: {set(given) - known}"
        found.append(Case(**given))
    return found


def carry_out(case: Case, burnin: str) -> Outcome:
    """Carry out the steps of a case in a folder that is thrown away afterwards."""
    with _bench() as work:
        codes: list[int] = []
        said: list[str] = []
        before: dict[str, tuple[int, int]] = {}
        began = _children_s()
        for step in case.steps:
            before, began = _files(work), _children_s()
            code, text = _step(_filled(step, burnin, work / "results"), work)
            codes.append(code)
            said.append(text)
        cpu_s = _children_s() - began
        after = _files(work)
        return Outcome(
            exit_codes=tuple(codes), verdict=_verdict(work / "results"), said="\n".join(said),
            said_last=said[-1], fault=_fault("\n".join(said)), cpu_s=cpu_s,
            lost=tuple(lost_rows([work / name for name in case.told], work / "results")),
            written=tuple(sorted(name for name in before.keys() | after.keys()
                                 if before.get(name) != after.get(name))))


def broken(case: Case, outcome: Outcome) -> list[str]:
    """Which demands of a case the outcome breaks; empty: none."""
    return [*_words_broken(case, outcome), *_bounds_broken(case, outcome)]


def _words_broken(case: Case, outcome: Outcome) -> Iterator[str]:
    if (case.exit_codes and outcome.last_exit not in case.exit_codes) or (
            outcome.last_exit in case.exit_not):
        yield f"exit code {outcome.last_exit}"
    if case.verdict_in and outcome.verdict not in case.verdict_in:
        yield f"verdict {outcome.verdict or 'none'}"
    if outcome.verdict in case.verdict_not:
        yield f"verdict {outcome.verdict}"
    flat = " ".join(outcome.said_last.split()).lower()
    if case.says_any and not any(word.lower() in flat for word in case.says_any):
        yield f"does not say any of {', '.join(case.says_any)}"
    yield from (f"does not say {word}" for word in case.says_all if word.lower() not in flat)
    yield from (f"says {word}" for word in case.says_none if word.lower() in flat)
    yield from (f"says {mark}" for mark in CRASHES if mark in outcome.said)


def _bounds_broken(case: Case, outcome: Outcome) -> Iterator[str]:
    if outcome.lost:
        yield f"told rows lost: {'; '.join(outcome.lost[:3])}"
    if case.writes_nothing and outcome.written:
        yield f"wrote {', '.join(outcome.written[:4])}"
    if case.cpu_within_s and outcome.cpu_s > case.cpu_within_s:
        yield f"took {outcome.cpu_s:.1f} s"
    if outcome.last_exit == HUNG:
        yield "hung"
    gone = outcome.fault.get("gone_s", {})
    for name, bound in (("worker", case.gone_within_s), ("supervisor", case.ended_within_s)):
        if bound and gone.get(name, float("inf")) > bound:
            yield f"{name} gone after {gone.get(name, 'no time at all')} s"
    if case.works_within_s and outcome.fault.get("worked_until_s", 0.0) > case.works_within_s:
        yield f"worker worked until {outcome.fault['worked_until_s']} s"
    if outcome.fault and not outcome.fault.get("sent"):
        yield "the event never came"


@contextmanager
def _bench() -> Iterator[Path]:
    with tempfile.TemporaryDirectory(prefix="faults_") as made:
        (Path(made) / "home").mkdir()
        yield Path(made)


def _filled(step: str, burnin: str, results: Path) -> str:
    newest = f"$(ls -dt $(find {results} -name run.json -printf '%h\\n') | head -1)"
    tools = {name: f"{sys.executable} {HERE / name}.py"
                 for name in ("edit", "failing", "at_event")}
    for name, value in (tools | {"record": newest, "burnin": burnin, "results": str(results),
                                 "here": str(HERE), "python": sys.executable}).items():
        step = step.replace("{" + name + "}", value)
    return step


def _step(step: str, work: Path) -> tuple[int, str]:
    home = work / "home"
    kept = {key: value for key, value in os.environ.items()
            if not key.startswith(("XDG_", "BURNIN_"))}
    env = kept | {"HOME": str(home), "XDG_CONFIG_HOME": str(home / "config"),
                  "XDG_STATE_HOME": str(home / "state"), "XDG_DATA_HOME": str(home / "data"),
                  "BURNIN_TECHNICIAN": "Ilse Tarn", "COLUMNS": "200"}
    with subprocess.Popen(["bash", "-c", step], cwd=work, env=env, stdin=subprocess.DEVNULL,
                          stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
                          errors="replace", start_new_session=True) as run:
        try:
            said, _ = run.communicate(timeout=STEP_WITHIN_S)
            return run.returncode, said
        except subprocess.TimeoutExpired:
            os.killpg(run.pid, signal.SIGKILL)
            said, _ = run.communicate()
            return HUNG, said


def _children_s() -> float:
    spent = resource.getrusage(resource.RUSAGE_CHILDREN)
    return spent.ru_utime + spent.ru_stime


def _files(work: Path) -> dict[str, tuple[int, int]]:
    """What the tool may not touch where it refuses: records, tickets, the shop's files."""
    places = (work / "results", work / "home" / "config" / "burnin", work / "home" / "state")
    return {str(file.relative_to(work)): (file.lstat().st_size, file.lstat().st_mtime_ns)
            for place in places for file in place.rglob("*") if not file.is_dir()}


def _fault(said: str) -> dict[str, Any]:
    found = re.findall(r"^fault: (.*)$", said, re.MULTILINE)
    read: dict[str, Any] = json.loads(found[-1]) if found else {}
    return read


def _verdict(results: Path) -> str:
    found = sorted(results.rglob("run.json"), key=lambda file: file.parent.stat().st_ctime)
    if not found:
        return ""
    try:
        return str(json.loads(found[-1].read_text("utf-8"))["verdict"])
    except (ValueError, KeyError, TypeError, OSError, RecursionError):
        return "unreadable"


def main() -> None:
    """Carry out all cases, or those named."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--only", action="append", default=[], help="id of a case; repeatable")
    asked.add_argument("--list", action="append", default=[], help="one list; repeatable")
    asked.add_argument("--said", action="store_true", help="print what the commands printed too")
    given = asked.parse_args()
    for name in given.list or LISTS:
        for case in cases(name):
            if (given.only and case.id not in given.only) or not case.can_be_told:
                continue
            began = time.monotonic()
            outcome = carry_out(case, os.environ.get("CASES_BURNIN") or command())
            found = broken(case, outcome)
            print(f"{case.id}: {outcome.in_a_line()}; "
                  f"{'BROKEN: ' + '; '.join(found) if found else 'holds'}"
                  f"  ({time.monotonic() - began:.1f} s)", flush=True)
            if given.said:
                print(outcome.said)


if __name__ == "__main__":
    main()
