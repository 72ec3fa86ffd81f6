"""The locks hold what pyproject.toml asks for, with a sum for everything, and name no index."""

from __future__ import annotations

import re
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from burnin.cli.packages.installed import TOOL, found, requirements
from burnin.cli.packages.locks import Locked, lock_names, parsed, read_lock
from burnin.core.errors import BadInput
from tests.refusals import refused

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "burnin" / "cli" / "packages"
ALLOWED = re.compile(
    r"#.*|[a-z0-9][a-z0-9.-]*(\[[a-z0-9,-]+\])?==\S+(?: ; [^\\/]+)? \\"
    r"|    --hash=sha256:[0-9a-f]{64}(?: \\)?"
)


@cache
def project() -> dict[str, Any]:
    return tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))


@cache
def asked_for(name: str) -> tuple[Requirement, ...]:
    """What a lock must hold, as pyproject.toml asks for it."""
    if name == "build":
        texts = project()["build-system"]["requires"]
    else:
        extras = project()["project"]["optional-dependencies"]
        texts = [*project()["project"]["dependencies"], *extras.get(name, ())]
    return tuple(map(Requirement, texts))


@cache
def locked(name: str) -> tuple[Locked, ...]:
    return read_lock(name)


def test_there_is_a_lock_for_running_for_building_and_for_each_extra() -> None:
    extras = project()["project"]["optional-dependencies"]
    assert set(lock_names()) == {"run", "build", *extras}


@pytest.mark.parametrize("name", lock_names())
def test_a_lock_satisfies_what_the_project_asks_for(name: str) -> None:
    """Also on another Python, where a line with another marker stands for the same package."""
    assert asked_for(name)
    for asked in asked_for(name):
        lines = [line for line in locked(name) if line.name == canonicalize_name(asked.name)]
        # A package that another system alone needs is locked too, and not for this one.
        elsewhere = asked.marker is not None and not asked.marker.evaluate()
        assert lines if elsewhere else [line for line in lines if line.here], asked
        for line in lines:
            assert asked.specifier.contains(line.version, prereleases=True), (asked, line.version)


@pytest.mark.parametrize("name", lock_names())
def test_a_lock_is_whole_for_what_is_installed_here(name: str) -> None:
    """Each package's own requirements are locked too, at a version that it takes."""
    here, lines = found(), {line.name: line for line in locked(name) if line.here}
    same = [n for n, line in lines.items() if n in here and here[n].version == line.version]
    assert same
    for package in same:
        for text in here[package].requires or ():
            asked = Requirement(text)
            if asked.marker is not None and not asked.marker.evaluate({"extra": ""}):
                continue
            line = lines.get(canonicalize_name(asked.name))
            assert line is not None, f"{package} needs {asked}, and the lock has none"
            assert asked.specifier.contains(line.version, prereleases=True), (package, asked)


def test_all_locks_agree_on_one_version_here() -> None:
    versions: dict[str, set[str]] = {}
    for name in lock_names():
        for line in locked(name):
            if line.here:
                versions.setdefault(line.name, set()).add(line.version)
    assert {n: v for n, v in versions.items() if len(v) > 1} == {}


@pytest.mark.parametrize("name", lock_names())
def test_a_lock_holds_names_versions_and_sums_and_nothing_else(name: str) -> None:
    text = (FOLDER / f"lock.{name}.txt").read_text("utf-8")
    assert [line for line in text.splitlines() if not ALLOWED.fullmatch(line)] == []
    assert all(len(set(line.sha256)) == len(line.sha256) > 0 for line in locked(name))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("strata==1.0", "line 1: has no SHA-256"),
        ("# a\nstrata==1.0 --hash=md5:0", "line 2: has no SHA-256"),
        (f"strata>=1.0 --hash=sha256:{'0' * 64}", "names no one version"),
        (f"strata==1.* --hash=sha256:{'0' * 64}", "names no one version"),
        (f"strata==1.0,<2 --hash=sha256:{'0' * 64}", "names no one version"),
        (f"--index somewhere --hash=sha256:{'0' * 64}", "is no requirement"),
    ],
)
def test_a_line_that_locks_nothing_is_refused_with_its_place(text: str, told: str) -> None:
    with refused(BadInput, match=told):
        list(parsed(text, "lock.x.txt"))


def test_a_marker_decides_whether_a_line_is_for_here() -> None:
    lines = "a==1 ; python_version < '3' \\\n  --hash=sha256:{0}\na==2 \\\n  --hash=sha256:{0}\n"
    one, two = parsed(lines.format("0" * 64), "lock.x.txt")
    assert (one.here, one.version, two.here, two.version) == (False, "1", True, "2")


def test_the_tool_is_installed_as_the_project_says() -> None:
    """After a change of pyproject.toml: .venv/bin/pip install --no-deps -e ."""
    asked = {name for name, _ in requirements(found()[TOOL], frozenset())}
    here = (one for one in asked_for("run") if one.marker is None or one.marker.evaluate())
    assert asked == {canonicalize_name(one.name) for one in here}
