"""Every bug of the list can be planted as it stands there, and a test finds it."""

from __future__ import annotations

import ast
from functools import cache

import pytest

from tests.planted.bugs import Bug, State, bugs, planted
from tests.planted.tree import TREE

ALL = [pytest.param(bug, id=bug.id) for bug in bugs()]


@cache
def names_in(file: str) -> frozenset[str]:
    content = ast.parse((TREE / file).read_text(encoding="utf-8"))
    return frozenset(node.name for node in content.body if isinstance(node, ast.FunctionDef))


def test_every_bug_has_a_name_of_its_own() -> None:
    names = [bug.id for bug in bugs()]
    assert len(set(names)) == len(names) > 40


@pytest.mark.parametrize("bug", ALL)
def test_what_a_bug_replaces_stands_in_the_tree_once(bug: Bug) -> None:
    content = (TREE / bug.file).read_text(encoding="utf-8")
    assert content.count(bug.text) == 1
    assert bug.instead != bug.text
    if bug.file.endswith(".py"):
        ast.parse(content.replace(bug.text, bug.instead))


@pytest.mark.parametrize("bug", ALL)
def test_the_tests_that_must_fail_are_there(bug: Bug) -> None:
    assert bug.tests
    for test in bug.tests:
        file, _, name = test.partition("::")
        assert name.partition("[")[0] in names_in(file), test


@pytest.mark.long
@pytest.mark.timeout(1200)
@pytest.mark.parametrize("bug", ALL)
def test_a_planted_bug_is_found(bug: Bug) -> None:
    fate = planted(bug)
    if fate.state is State.NOT_TRIED:
        pytest.skip(f"this machine lacks what {', '.join(fate.missed)} need")
    assert fate.state is State.KILLED, fate
