"""Carries out the cases of this folder and prints what came of each.

`python -m tests.others.alterations.run_cases [--only ID] [--said]`. A case alters a copy of the
story's folder with `steps`, shell commands in which `{forge}` is the forger's hand and `{forger}`
the command in his own account; then a careful colleague goes his round: every handover and every
record that lies there, and every fingerprint on a paper that was handed out. An alteration must be
told by one of these commands: exit code not 0, and what was altered is named. After a lawful change
every one must end with 0, and write nothing.
"""

import argparse
import hashlib
import sys
import tempfile
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.others.alterations.story import HERE, Told, filled, tell

FORGED = ("missing", "added", "swapped", "cut_short", "linked", "re_signed", "rolled_back",
          "slipped_in", "sheet_anew", "times_and_names")
LAWFUL = "lawful"
CANNOT_BE_TOLD = "cannot be told"
VERIFY = "{burnin} verify --results {results}"
# What is asked of one ticket beside each handover and record that lies there.
ROUNDS: dict[str, tuple[str, tuple[str, ...]]] = {
    "ottilie": ("5101", ("{verify} --fingerprint {fp1}", "{verify} --fingerprint {fp2}")),
    "ivo": ("5102", ("{burnin} handover 5102 --results {results}",)),
}


@dataclass(frozen=True)
class Case:
    """One alteration or lawful change, what the rules demand, what it gave when it was drawn."""

    id: str
    kind: str
    what: str
    why: str
    steps: tuple[str, ...] = ()
    names: tuple[str, ...] = ()
    round: str = "ottilie"
    verify: str = VERIFY
    also: tuple[str, ...] = ()
    asks: tuple[str, ...] = ()
    at: str = "results"
    gave: str = ""
    needs: str = ""
    open: bool = False

    @property
    def told(self) -> bool:
        """Whether the command as it is can be told this case."""
        return self.gave != CANNOT_BE_TOLD

    @property
    def lawful(self) -> bool:
        """Whether what is done is allowed."""
        return self.kind == LAWFUL


@dataclass(frozen=True)
class Answer:
    """What one command of the round gave."""

    command: str
    code: int
    said: str


@dataclass(frozen=True)
class Outcome:
    """What the round gave, up to the first command that told."""

    answers: tuple[Answer, ...]
    names: tuple[str, ...]
    written: bool

    def naming(self) -> list[Answer]:
        """The answers that tell and name what was altered."""
        wanted = ["".join(name.lower().split()) for name in self.names]
        return [answer for answer in self.answers if answer.code > 0
                and any(name in "".join(answer.said.lower().split()) for name in wanted)]

    def told(self) -> str:
        """In one line: the exit codes in the round's order, and what the telling answer said."""
        codes = " ".join(str(answer.code) for answer in self.answers)
        found = self.naming()
        return f"exits {codes}; " + ("named" if found else "not named")


def cases(name: str) -> list[Case]:
    """The cases of one list."""
    read = tomllib.loads((HERE / f"{name}.toml").read_text("utf-8"))
    return [_case(name, entry) for entry in read["case"]]


def carry_out(case: Case, story: Told, burnin: str) -> Outcome:
    """Alter a copy of the story as the case says, and go the round."""
    with tempfile.TemporaryDirectory(prefix="altered_", ignore_cleanup_errors=True) as made:
        told = story.copy(Path(made) / "shop")
        names = told.names() | told.places() | {
            "burnin": burnin, "forge": f"{sys.executable} {HERE / 'forge.py'}"}
        for step in case.steps:
            code, said = told.shell(filled(step, names))
            if code:
                raise RuntimeError(f"{case.id}: {step}: exit {code}\n{said}")
        names |= {"results": str(told.work / case.at), "verify": filled(case.verify, names | {
            "results": str(told.work / case.at)})}
        before = _seen(told.work)
        wanted = tuple(filled(name, names) for name in case.names)
        outcome = Outcome((), wanted, written=False)
        for line in _round(case, told, names):
            answer = Answer(line, *told.shell(line))
            outcome = Outcome((*outcome.answers, answer), wanted, _seen(told.work) != before)
            if outcome.naming() or answer.code < 0:
                break
        return outcome


def broken(case: Case, outcome: Outcome) -> list[str]:
    """Which demands of a case the outcome breaks; empty: none."""
    found = [f"{answer.command}: the tool itself failed" for answer in outcome.answers
             if answer.code < 0 or "Traceback (most recent call last)" in answer.said]
    if case.lawful:
        found += [f"{answer.command}: exit {answer.code}" for answer in outcome.answers
                  if answer.code]
        changes = any(" handover " in answer.command for answer in outcome.answers)
        found += ["verify wrote something"] if outcome.written and not changes else []
    elif all(answer.code == 0 for answer in outcome.answers):
        found.append("all of the round ended with 0")
    elif not outcome.naming():
        found.append(f"names none of {', '.join(outcome.names)}")
    return found


def command() -> str:
    """The command, as this interpreter has it."""
    return str(Path(sys.executable).parent / "burnin")


def _case(name: str, entry: dict[str, Any]) -> Case:
    given: dict[str, Any] = {key: tuple(value) if isinstance(value, list) else value
                             for key, value in entry.items()}
    return Case(kind=name, **given)


def _round(case: Case, told: Told, names: dict[str, str]) -> list[str]:
    if case.asks:
        return [filled(command, names) for command in case.asks]
    number, asked = ROUNDS[case.round]
    ticket = told.work / case.at / number
    folders = sorted(ticket.glob("handover-*")) + sorted(ticket.glob("20*"))
    listed = [f"{names['verify']} '{folder}'" for folder in folders]
    return listed + [filled(command, names) for command in (*asked, *case.also)]


def _seen(work: Path) -> str:
    """Digest of all that lies under the results and beside them, but for the accounts."""
    digest = hashlib.sha256()
    for path in sorted(work.glob("*results*/**/*")):
        digest.update(f"{path} {path.lstat().st_mode} {path.lstat().st_mtime_ns}\n".encode())
    return digest.hexdigest()


def main() -> None:
    """Carry out all cases, or those named."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--only", action="append", default=[], help="id of a case; repeatable")
    asked.add_argument("--list", action="append", default=[], help="name of a list; repeatable")
    asked.add_argument("--said", action="store_true", help="print what the commands printed too")
    given = asked.parse_args()
    with tempfile.TemporaryDirectory(prefix="altered_") as made:
        story = tell(Path(made) / "story", command())
        for name in given.list or (*FORGED, LAWFUL):
            for case in cases(name):
                if (not given.only or case.id in given.only) and case.told:
                    _show(case, story, said=given.said)


def _show(case: Case, story: Told, *, said: bool) -> None:
    try:
        outcome = carry_out(case, story, command())
    except RuntimeError as error:
        print(f"NOT CARRIED OUT: {error}", flush=True)
        return
    faults = broken(case, outcome)
    print(f"{case.id}: {outcome.told()}; {'BROKEN: ' + '; '.join(faults) if faults else 'holds'}",
          flush=True)
    for answer in outcome.answers if said else ():
        print(f"  $ {answer.command}\n  exit {answer.code}\n{answer.said}")


if __name__ == "__main__":
    main()
