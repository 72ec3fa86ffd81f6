"""The locks: which versions of which packages, and the SHA-256 of each archive that may be taken.

A lock is a requirements file as pip reads it with ``--require-hashes`` (pip, "Requirements File
Format" and "Secure installs"); it names no index, so that it holds wherever packages come from.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from importlib.resources import files

from packaging.requirements import InvalidRequirement, Requirement
from packaging.utils import canonicalize_name

from burnin.cli.packages.refusals import LockRefusal
from burnin.core.errors import BadInput

BEFORE, AFTER = "lock.", ".txt"
_HASH = re.compile(r"--hash=sha256:([0-9a-f]{64})(?=\s|$)", re.ASCII)


@dataclass(frozen=True)
class Locked:
    """One line of a lock: exactly this version, `here` whether its marker asks for it here."""

    name: str
    version: str
    here: bool
    sha256: tuple[str, ...]


def lock_names() -> tuple[str, ...]:
    """For what there is a lock, sorted."""
    names = (file.name for file in files("burnin.cli.packages").iterdir())
    return tuple(
        sorted(
            name.removeprefix(BEFORE).removesuffix(AFTER)
            for name in names
            if name.startswith(BEFORE) and name.endswith(AFTER)
        )
    )


def read_lock(name: str) -> tuple[Locked, ...]:
    """A lock by its name; raises BadInput where there is none, or for a line that locks nothing."""
    if name not in lock_names():
        raise BadInput(LockRefusal.NO_SUCH(name=name, there=tuple(lock_names())))
    text = (files("burnin.cli.packages") / f"{BEFORE}{name}{AFTER}").read_text("utf-8")
    return tuple(parsed(text, f"{BEFORE}{name}{AFTER}"))


def parsed(text: str, file: str) -> Iterator[Locked]:
    """Lines of a lock; raises BadInput with file and line for one that locks nothing."""
    for number, line in _joined(text.splitlines()):
        asked, _, hashes = line.partition(" --hash=")
        try:
            requirement = Requirement(asked)
        except InvalidRequirement:
            raise BadInput(LockRefusal.NO_REQUIREMENT(file=file, line=number, text=asked)) from None
        pins = [one for one in requirement.specifier if one.operator == "=="]
        if len(pins) != 1 or len(requirement.specifier) != 1 or pins[0].version.endswith("*"):
            raise BadInput(LockRefusal.NO_VERSION(file=file, line=number, text=asked))
        sums = tuple(_HASH.findall(f"--hash={hashes}")) if hashes else ()
        if not sums:
            raise BadInput(LockRefusal.NO_SUM(file=file, line=number, text=asked))
        here = requirement.marker is None or requirement.marker.evaluate()
        yield Locked(canonicalize_name(requirement.name), pins[0].version, here, sums)


def _joined(lines: Iterable[str]) -> Iterator[tuple[int, str]]:
    """Lines that go on behind a backslash as one, with the number of the first; no comments."""
    waiting, began = "", 0
    for number, line in enumerate(lines, 1):
        text = line.strip()
        if text.startswith("#"):
            continue
        began = began if waiting else number
        waiting += text.removesuffix("\\")
        if not text.endswith("\\"):
            if waiting.strip():
                yield began, waiting.strip()
            waiting = ""
    if waiting.strip():
        yield began, waiting.strip()
