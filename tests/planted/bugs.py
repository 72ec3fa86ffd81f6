"""The bugs that are planted by hand, and what becomes of one."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from pathlib import Path

from tests.planted.tree import (
    TREE,
    Outcomes,
    carried_out,
    copied_tree,
    digest,
    of_node,
    replace_once,
)

LIST = Path(__file__).parent / "bugs.toml"


@dataclass(frozen=True)
class Bug:
    """A text of one file and what takes its place; every one of `tests` must fail for it."""

    id: str
    says: str
    file: str
    text: str
    instead: str
    tests: tuple[str, ...]

    @property
    def digest(self) -> str:
        """Changes with the bug, the file that it is planted in, and the tests that must fail."""
        files = dict.fromkeys(test.partition("::")[0] for test in self.tests)
        named = (self.text, self.instead, *self.tests)
        return digest([*named, TREE / self.file, *(TREE / file for file in files)])


class State(StrEnum):
    """What became of a planted bug."""

    KILLED = "killed"
    ALIVE = "alive"
    NOT_TRIED = "not tried here"
    """Its tests are skipped on this machine, which lacks what they need."""
    BROKEN = "broken"
    """The tests could not be carried out."""


@dataclass(frozen=True)
class Fate:
    """What became of a bug, and the tests that should have failed and did not."""

    state: State
    missed: tuple[str, ...] = ()
    said: str = ""


@cache
def bugs() -> tuple[Bug, ...]:
    """Every bug of the list."""
    rows = tomllib.loads(LIST.read_text(encoding="utf-8"))["bugs"]
    return tuple(Bug(**{**row, "tests": tuple(row["tests"])}) for row in rows)


def planted(bug: Bug) -> Fate:
    """Plant a bug in a copy of the tree and carry its tests out there."""
    with copied_tree() as tree:
        replace_once(tree / bug.file, bug.text, bug.instead)
        return _fate(bug, carried_out(tree, bug.tests))


def _fate(bug: Bug, found: Outcomes) -> Fate:
    if found.broken:
        return Fate(State.BROKEN, said=found.broken)
    if found.hung:
        return Fate(State.KILLED, said="did not end in time")
    missed = tuple(
        test for test in bug.tests if not any(of_node(test, failed) for failed in found.failed)
    )
    if not missed:
        return Fate(State.KILLED)
    skipped = all(any(of_node(test, one) for one in found.skipped) for test in missed)
    untried = skipped and not any(of_node(t, one) for t in missed for one in found.passed)
    return Fate(State.NOT_TRIED if untried else State.ALIVE, missed)
