"""Carries out the cases of this folder and prints what came of each.

`python -m tests.others.word_holds.run_cases [--only ID]`. A case is a list of shell commands, as a
technician would type them, carried out in a fresh folder with an account of its own: `{burnin}` is
the command, `{results}` the folder of records, `{here}` this folder, `{python}` the interpreter.
The last command is the one whose exit code is judged.
"""

import argparse
import csv
import json
import os
import re
import subprocess
import sys
import tempfile
import time
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
LISTS = ("unearned_pass.toml", "bench_blamed.toml", "controls.toml")
CANNOT_BE_TOLD = "cannot be told"
STEP_WITHIN_S = 120.0


@dataclass(frozen=True)
class Case:
    """One attempt: what is done, what the rules demand of it, what it gave when it was drawn."""

    id: str
    kind: str
    what: str
    steps: tuple[str, ...]
    expect: str
    gave: str = ""
    needs: str = ""
    exit_codes: tuple[int, ...] = ()
    exit_not: tuple[int, ...] = ()
    verdict_in: tuple[str, ...] = ()
    verdict_not: tuple[str, ...] = ()
    handed_not: tuple[str, ...] = ()
    sheet_not: tuple[str, ...] = ()
    not_loaded: tuple[str, ...] = ()
    says_any: tuple[str, ...] = ()
    ticket_not_closed: bool = False
    open: bool = False
    long: bool = False

    @property
    def told(self) -> bool:
        """Whether the simulated machine can be told this case today."""
        return self.gave != CANNOT_BE_TOLD


@dataclass(frozen=True)
class Outcome:
    """What the steps of a case left behind."""

    exit_codes: tuple[int, ...]
    verdict: str          # of the newest record; empty: none
    handed: str           # of the newest handover; empty: none
    sheet: str            # large word of the newest record's sheet; empty: none
    closed: bool          # whether a ticket stands closed
    loaded: tuple[str, ...]   # stages in which the newest record's card was given work
    said: str             # all that was printed
    wall_s: float = field(compare=False)

    @property
    def last_exit(self) -> int:
        """Exit code of the last step."""
        return self.exit_codes[-1]

    def told(self) -> str:
        """In one line."""
        parts = [f"exit {self.last_exit}", self.verdict or "no record"]
        parts += [f"handed over as {self.handed}"] if self.handed else []
        parts += [f"sheet {self.sheet}"] if self.sheet else []
        parts += ["ticket closed"] if self.closed else []
        return ", ".join(parts)


def cases(name: str) -> list[Case]:
    """The cases of one list."""
    read = tomllib.loads((HERE / name).read_text("utf-8"))
    return [_case(entry) for entry in read.get("case", [])]


def _case(entry: dict[str, Any]) -> Case:
    given: dict[str, Any] = {
        "kind" if key == "class" else key: tuple(value) if isinstance(value, list) else value
        for key, value in entry.items()}
    return Case(**given)


def carry_out(case: Case, burnin: str) -> Outcome:
    """Carry out the steps of a case in a folder that is thrown away afterwards."""
    with _bench() as work:
        results = work / "results"
        began = time.monotonic()
        codes: list[int] = []
        said: list[str] = []
        for step in case.steps:
            code, text = _step(_filled(step, burnin, results), work)
            codes.append(code)
            said.append(text)
        return Outcome(exit_codes=tuple(codes), verdict=_verdict(results), handed=_handed(results),
                       sheet=_sheet(results), closed=_closed(results), loaded=_loaded(results),
                       said="\n".join(said), wall_s=time.monotonic() - began)


def broken(case: Case, outcome: Outcome) -> list[str]:
    """Which demands of a case the outcome breaks; empty: none."""
    found: list[str] = []
    if case.exit_codes and outcome.last_exit not in case.exit_codes:
        found.append(f"exit code {outcome.last_exit}")
    if outcome.last_exit in case.exit_not:
        found.append(f"exit code {outcome.last_exit}")
    if case.verdict_in and not any(_is(outcome.verdict, word) for word in case.verdict_in):
        found.append(f"verdict {outcome.verdict or 'none'}")
    if any(_is(outcome.verdict, word) for word in case.verdict_not):
        found.append(f"verdict {outcome.verdict}")
    if any(_is(outcome.handed, word) for word in case.handed_not):
        found.append(f"handed over as {outcome.handed}")
    if any(_is(outcome.sheet, word) for word in case.sheet_not):
        found.append(f"sheet {outcome.sheet}")
    if case.ticket_not_closed and outcome.closed:
        found.append("ticket closed")
    found += [f"{stage} was loaded" for stage in outcome.loaded
              if any(stage.endswith(kind) for kind in case.not_loaded)]
    if case.says_any and not any(word.lower() in outcome.said.lower() for word in case.says_any):
        found.append(f"does not say any of {', '.join(case.says_any)}")
    found += _crashes(outcome)
    return found


def command() -> str:
    """The command, as this interpreter has it."""
    return str(Path(sys.executable).parent / "burnin")


def _crashes(outcome: Outcome) -> list[str]:
    """A word that comes of the tool's own failure meets no demand."""
    marks = ("Traceback (most recent call last)", "the tool itself failed")
    flat = " ".join(outcome.said.split())
    return [f"says: {mark}" for mark in marks if mark in flat]


def _is(word: str, named: str) -> bool:
    """Whether a verdict is the named one, also where a word stands before it."""
    parts = re.split(r"[\s_-]+", word.strip().lower())
    return word.lower() == named.lower() or parts[-1] == named.lower()


@contextmanager
def _bench() -> Iterator[Path]:
    with tempfile.TemporaryDirectory(prefix="word_holds_") as made:
        work = Path(made)
        (work / "home").mkdir()
        yield work


def _filled(step: str, burnin: str, results: Path) -> str:
    for name, value in (("burnin", burnin), ("results", str(results)), ("here", str(HERE)),
                        ("python", sys.executable)):
        step = step.replace("{" + name + "}", value)
    return step


def _step(step: str, work: Path) -> tuple[int, str]:
    home = work / "home"
    kept = {key: value for key, value in os.environ.items()
            if not key.startswith(("XDG_", "BURNIN_"))}
    env = kept | {"HOME": str(home), "XDG_CONFIG_HOME": str(home / "config"),
                  "XDG_STATE_HOME": str(home / "state"), "XDG_DATA_HOME": str(home / "data"),
                  "BURNIN_TECHNICIAN": "Ilse Tarn"}
    done = subprocess.run(["bash", "-c", step], cwd=work, env=env, stdin=subprocess.DEVNULL,
                          capture_output=True, text=True, timeout=STEP_WITHIN_S, check=False)
    return done.returncode, done.stdout + done.stderr


def _newest(results: Path, pattern: str) -> Path | None:
    found = sorted(results.rglob(pattern), key=lambda path: path.stat().st_mtime)
    return found[-1] if found else None


def _last_begun(results: Path) -> Path | None:
    """Folder of the record whose run began last."""
    found = sorted(results.rglob("run.json"), key=lambda path: path.parent.stat().st_ctime)
    return found[-1].parent if found else None


def _verdict(results: Path) -> str:
    folder = _last_begun(results)
    return "" if folder is None else _word(folder / "run.json")


def _handed(results: Path) -> str:
    file = _newest(results, "handover.json")
    return "" if file is None else _word(file)


def _word(file: Path) -> str:
    try:
        return str(json.loads(file.read_text("utf-8"))["verdict"])
    except (ValueError, KeyError):
        return "unreadable"


def _sheet(results: Path) -> str:
    folder = _last_begun(results)
    file = None if folder is None else folder / "sheet.html"
    if file is None or not file.exists():
        return ""
    found = re.search(r'<h1 class="verdict[^>]*>([^<]*)', file.read_text("utf-8"))
    return found.group(1).strip() if found else ""


def _closed(results: Path) -> bool:
    return any(_stands_closed(log) for log in results.rglob("events.jsonl"))


def _stands_closed(log: Path) -> bool:
    kinds = re.findall(r'"kind": "(closed|reopened|opened)"', log.read_text("utf-8"))
    return bool(kinds) and kinds[-1] == "closed"


def _loaded(results: Path) -> tuple[str, ...]:
    folder = _last_begun(results)
    if folder is None or not (folder / "samples.csv").exists():
        return ()
    with (folder / "samples.csv").open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["load_share"]]
    return tuple(sorted({row["stage"] for row in rows if float(row["load_share"]) > 0.0}))


def main() -> None:
    """Carry out all cases, or those named."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--only", action="append", default=[], help="id of a case; repeatable")
    asked.add_argument("--said", action="store_true", help="print what the commands printed too")
    given = asked.parse_args()
    for name in LISTS:
        for case in cases(name):
            if given.only and case.id not in given.only:
                continue
            if not case.told:
                print(f"{case.id}: {case.expect}; {CANNOT_BE_TOLD}: {case.needs}", flush=True)
                continue
            outcome = carry_out(case, command())
            faults = broken(case, outcome)
            codes = " ".join(str(code) for code in outcome.exit_codes)
            print(f"{case.id}: {case.expect}; exits {codes}; {outcome.told()}; "
                  f"{'BROKEN: ' + '; '.join(faults) if faults else 'holds'}"
                  f"  ({outcome.wall_s:.1f} s)", flush=True)
            if given.said:
                print(outcome.said)


if __name__ == "__main__":
    main()
