"""What the package reads of a machine outside its own files is listed by `cards --why`."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from fnmatch import fnmatch
from pathlib import Path

import burnin
from burnin.run.rights.things import OF_PROCESSES, THINGS

PACKAGE = Path(burnin.__file__).parent
SYSTEM = re.compile(r"/?(?:dev|sys|proc|etc|run|usr|var|tmp)/[\w.*/:-]+")
NOT_OF_THIS_MACHINE = ("sim", "run/rights")
CLAIMED = [*(place for thing in THINGS for place in thing.places), *OF_PROCESSES]


def texts(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Every written text but docstrings; what is filled in is a ``*``."""
    said = {
        id(node.value) for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            said |= {id(part) for part in node.values}
            told = ["*" if not isinstance(p, ast.Constant) else str(p.value) for p in node.values]
            yield node.lineno, "".join(told)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(
            node
        ) not in said:
            yield node.lineno, node.value


def places_in(source: str) -> list[tuple[int, str]]:
    found = []
    for line, text in texts(ast.parse(source)):
        if SYSTEM.fullmatch(text):
            found.append((line, f"/{text.lstrip('/')}"))
    return found


def claimed(place: str) -> bool:
    """Listed itself, or below what is listed as a folder; a ``*`` of ours stands for one name."""
    return place in CLAIMED or any(
        fnmatch(place, f"{wanted}/*") for wanted in CLAIMED if "*" not in wanted
    )


def test_the_walk_sees_a_place_that_nobody_listed() -> None:
    [(_, place)] = places_in('open("/sys/kernel/debug/made_up")')
    assert not claimed(place)
    assert [p for _, p in places_in('f"/proc/{pid}/stat"')] == ["/proc/*/stat"]
    assert claimed("/proc/*/stat")
    assert places_in('"""/sys/kernel/debug"""') == []


def test_every_place_that_is_read_is_listed_with_its_right() -> None:
    seen, unlisted = 0, []
    for file in sorted(PACKAGE.rglob("*.py")):
        inside = str(file.relative_to(PACKAGE))
        if inside.startswith(NOT_OF_THIS_MACHINE):
            continue
        for line, place in places_in(file.read_text(encoding="utf-8")):
            seen += 1
            if not claimed(place):
                unlisted.append(f"{inside}:{line}: {place}")
    assert seen > 15
    assert unlisted == []
