"""Carries out the cases of this folder and prints what came of each.

`python -m tests.others.several.run_cases [--only ID] [--list NAME] [--said]`. A case is a list of
shell commands in a fresh folder with an account of its own: `{burnin}` is the command, `{when}` and
`{truth}` the scripts beside this file, `{record}` the record begun last, `{batch}` the newest
batch's file. All that is printed is judged, and the exit code of the command before `{truth}`.
"""

from __future__ import annotations

import argparse
import os
import re
import signal
import subprocess
import sys
import tempfile
import time
import tomllib
from collections.abc import Iterator
from pathlib import Path

from pydantic import BaseModel, ConfigDict

HERE = Path(__file__).parent
LISTS = ("unearned.toml", "budget.toml", "lost.toml", "blame.toml")
STEP_WITHIN_S = 300.0
HUNG = 124


class Case(BaseModel):
    """One case: what is done and why, what is right, what it gave when it was drawn."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    id: str
    what: str
    why: str
    expect: str
    gave: str
    steps: tuple[str, ...]
    exit_in: tuple[int, ...] = ()
    all_of: tuple[str, ...] = ()
    none_of: tuple[str, ...] = ()
    any_of: tuple[str, ...] = ()
    most_w: float = 0.0
    open: str = ""
    shop: str = ""


class Outcome(BaseModel):
    """What came of it."""

    code: int
    said: str
    took_s: float

    @property
    def most_w(self) -> float:
        """What all cards drew together at most."""
        return max((float(w) for w in re.findall(r"^most_w (\S+)$", self.said, re.M)), default=0.0)


def cases(name: str) -> list[Case]:
    """The cases of one list."""
    read = tomllib.loads((HERE / name).read_text("utf-8"))
    return [Case.model_validate(entry) for entry in read["case"]]


def carry_out(case: Case) -> Outcome:
    """Carry out the steps of a case in a folder that is thrown away afterwards."""
    began = time.monotonic()
    code, said = 0, []
    with tempfile.TemporaryDirectory(prefix="several_") as made:
        work = Path(made)
        for file in (HERE / "benches").iterdir():
            (work / file.name).write_bytes(file.read_bytes())
        (work / "shop").mkdir()
        shop = (HERE / "benches" / "shop.toml").read_text("utf-8") + case.shop
        (work / "shop" / "shop.toml").write_text(shop, encoding="utf-8")
        for step in case.steps:
            got, text = _step(_filled(step), work)
            said.append(text)
            if "{truth}" not in step:
                code = got
    return Outcome(code=code, said="\n".join(said), took_s=time.monotonic() - began)


def broken(case: Case, outcome: Outcome) -> Iterator[str]:
    """Which demands the outcome breaks; empty: none."""
    if case.exit_in and outcome.code not in case.exit_in:
        yield f"exit code {outcome.code}"
    flat = " ".join(outcome.said.split())
    yield from (f"does not say {w}" for w in case.all_of if not re.search(w, flat))
    yield from (f"says {w}" for w in case.none_of if re.search(w, flat))
    if case.any_of and not any(re.search(w, flat) for w in case.any_of):
        yield f"says none of {case.any_of}"
    for mark in ("Traceback (most recent call last)", "the tool itself failed", "unearned 0000"):
        if mark in flat:
            yield f"says {mark}"
    if case.most_w and not 0.0 < outcome.most_w <= case.most_w:
        yield f"{outcome.most_w} W"


def _filled(step: str) -> str:
    python = sys.executable
    newest = "$(ls -dt $(find results -name run.json -printf '%h\\n') | head -1)"
    for name, value in {
        "burnin": f"{python} -m burnin", "python": python, "record": newest,
        "when": f"{python} {HERE / 'when.py'}", "truth": f"{python} {HERE / 'truth.py'}",
        "as_cut": f"{python} {HERE / 'as_cut.py'}",
        "batch": "$(ls -t results/batches/*.json | head -1)",
    }.items():  # fmt: skip
        step = step.replace("{" + name + "}", value)
    return step


def _step(step: str, work: Path) -> tuple[int, str]:
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("XDG_", "BURNIN_"))}
    env = kept | {
        "HOME": str(work / "home"), "BURNIN_SHOP": str(work / "shop"), "COLUMNS": "200",
        "BURNIN_TECHNICIAN": "Ilse Tarn", "PYTHONPATH": str(HERE.parents[2]),
    }  # fmt: skip
    with subprocess.Popen(
        ["bash", "-c", step], cwd=work, env=env, stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, errors="replace",
        start_new_session=True,
    ) as run:  # fmt: skip
        try:
            said, _ = run.communicate(timeout=STEP_WITHIN_S)
            return run.returncode, said
        except subprocess.TimeoutExpired:
            os.killpg(run.pid, signal.SIGKILL)
            said, _ = run.communicate()
            return HUNG, f"{said}\nhung"


def main() -> None:
    """Carry out all cases, or those named."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--only", action="append", default=[], help="id of a case; repeatable")
    asked.add_argument("--list", action="append", default=[], help="one list; repeatable")
    asked.add_argument("--said", action="store_true", help="print what the commands printed too")
    given = asked.parse_args()
    for name in given.list or LISTS:
        for case in cases(name):
            if given.only and case.id not in given.only:
                continue
            outcome = carry_out(case)
            found = list(broken(case, outcome))
            print(f"{case.id}: exit {outcome.code}; "
                  f"{'BROKEN: ' + '; '.join(found) if found else 'holds'}"
                  f"  ({outcome.took_s:.1f} s)", flush=True)  # fmt: skip
            if given.said:
                print(outcome.said, flush=True)


if __name__ == "__main__":
    main()
