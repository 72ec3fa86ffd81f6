"""Small changes drawn by chance, each carried out against the tests that reach it, through mutmut.

A group of modules is changed in one copy of the tree: mutmut writes every change of them beside the
code, learns once which test calls which function, and then runs, in a process of its own each, the
tests that call the changed one. Here a seeded sample of the changes is drawn and what became of it
is read back.
"""

from __future__ import annotations

import json
import random
import subprocess
import sys
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from pathlib import Path

from tests.planted.tree import TREE, copied_tree, digest, environment

GROUPS = Path(__file__).parent / "groups.toml"
_NOBODY = "burnin.nobody.x_nobody__mutmut_0"
"""A change that does not exist: asked for, it makes mutmut write all and learn who calls what."""
_PYTEST = ("-o", "addopts=", "-p", "no:xdist", "-p", "no:cacheprovider", "--hypothesis-seed=1")


_TURNING = "⠋⠙⠹⠸⠼⠴⠦⠧⠇⠏"


class State(StrEnum):
    """What became of a change."""

    KILLED = "killed"
    SURVIVED = "survived"
    NO_TEST = "no test calls it"
    HUNG = "did not end in time"
    """Mostly found; but a test may hang in a forked process whatever the change: not counted."""
    SUSPICIOUS = "cannot be told"


_STATES = {
    0: State.SURVIVED, 5: State.NO_TEST, 33: State.NO_TEST, 34: State.SUSPICIOUS,
    35: State.SUSPICIOUS, 2: State.SUSPICIOUS, 36: State.HUNG, -24: State.HUNG, 24: State.HUNG,
    152: State.HUNG, 255: State.HUNG,
}  # fmt: skip
"""mutmut's exit codes by change; any other is a test that failed or crashed. The last five are its
ways to say that the time for the tests was up (signal 24, SIGXCPU)."""


@dataclass(frozen=True)
class Group:
    """Modules that share the tests that carry them out."""

    name: str
    modules: tuple[str, ...]
    tests: tuple[str, ...]

    def digest_of(self, module: str) -> str:
        """Changes with one of the modules and with the tests of all."""
        files = dict.fromkeys(test.partition("::")[0] for test in self.tests)
        return digest([*self.tests, TREE / module, *(TREE / file for file in files)])


@dataclass(frozen=True)
class Mutant:
    """One change: its module, mutmut's name of it, what became of it, and its lines."""

    module: str
    name: str
    state: State
    change: str = ""


@cache
def groups() -> tuple[Group, ...]:
    """Every group of the list."""
    rows = tomllib.loads(GROUPS.read_text(encoding="utf-8"))["groups"]
    return tuple(Group(r["name"], tuple(r["modules"]), tuple(r["tests"])) for r in rows)


def drawn(names: Sequence[str], count: int, seed: int) -> list[str]:
    """So many of a module's changes, the same for the same seed; all where there are fewer."""
    return sorted(random.Random(seed).sample(sorted(names), min(count, len(names))))


def carried_out(
    group: Group, modules: Sequence[str], count: int, seed: int, processes: int = 1
) -> tuple[Mutant, ...]:
    """Draw changes of each module and carry them out; raises RuntimeError where mutmut could not.

    The tests must pass on the tree as it is.
    """
    with copied_tree() as tree:
        _settings(tree, group, modules)
        said = _mutmut(tree, "run", "--max-children", str(processes), _NOBODY)
        known = {module: _codes(tree, module) for module in modules}
        if not any(known.values()) or not (tree / "mutants" / "mutmut-stats.json").exists():
            raise RuntimeError(f"{group.name}: no change could be tried\n{said[-3000:]}")
        wanted = {module: drawn(list(codes), count, seed) for module, codes in known.items()}
        reached = _reached(tree)
        asked = [n for names in wanted.values() for n in names if _function(n) in reached]
        said = _mutmut(tree, "run", "--max-children", str(processes), *asked) if asked else ""
        found = [
            Mutant(module, name, _state(_codes(tree, module)[name], name in asked))
            for module, names in wanted.items()
            for name in names
        ]
        if asked and all(mutant.state is State.SUSPICIOUS for mutant in found):
            raise RuntimeError(f"{group.name}: the tests do not pass as it is\n{said[-3000:]}")
        return tuple(_with_change(tree, mutant) for mutant in found)


def _settings(tree: Path, group: Group, modules: Sequence[str]) -> None:
    def several(words: Sequence[str]) -> str:
        return "\n    ".join(words)

    copied = [path.name for path in tree.iterdir() if path.name != "setup.cfg"]
    (tree / "setup.cfg").write_text(
        "[mutmut]\n"
        "source_paths = burnin/\n"
        f"only_mutate = {several(modules)}\n"
        f"also_copy = {several(copied)}\n"
        f"pytest_add_cli_args = {several(_PYTEST)}\n"
        f"pytest_add_cli_args_test_selection = {several(group.tests)}\n"
        "process_isolation = forkserver\n"
        "use_git_change_detection = false\n"
        "track_dependencies = false\n",
        encoding="utf-8",
    )


def _mutmut(tree: Path, *words: str) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "mutmut", *words], cwd=tree, text=True,
        env={n: v for n, v in environment(tree).items() if n != "PYTHONPATH"},
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False,
    )  # fmt: skip
    # what turns to show that it goes on is written over and over
    lines = done.stdout.replace("\r", "\n").splitlines()
    return "\n".join(line for line in lines if not line[:1] or line[0] not in _TURNING)


def _codes(tree: Path, module: str) -> Mapping[str, int | None]:
    file = tree / "mutants" / f"{module}.meta"
    if not file.exists():
        return {}
    codes: dict[str, int | None] = json.loads(file.read_text("utf-8"))["exit_code_by_key"]
    return codes


def _reached(tree: Path) -> frozenset[str]:
    """Functions that a test calls."""
    stats = json.loads((tree / "mutants" / "mutmut-stats.json").read_text("utf-8"))
    callers = stats["tests_by_mangled_function_name"]
    return frozenset(name for name, tests in callers.items() if tests)


def _function(name: str) -> str:
    """The changed function's name, as mutmut keeps it.

    >>> _function("burnin.core.reading.x_judge__mutmut_12")
    'burnin.core.reading.x_judge'
    """
    return name.rpartition("__mutmut_")[0]


def _state(code: int | None, asked: bool) -> State:
    if not asked:
        return State.NO_TEST
    return State.SUSPICIOUS if code is None else _STATES.get(code, State.KILLED)


def _with_change(tree: Path, mutant: Mutant) -> Mutant:
    """The lines that a change takes away and puts in, where it was not found."""
    if mutant.state is State.KILLED:
        return mutant
    said = _mutmut(tree, "show", mutant.name)
    lines = [line for line in said.splitlines() if line[:2] in ("- ", "+ ")]
    return Mutant(mutant.module, mutant.name, mutant.state, "\n".join(lines))
