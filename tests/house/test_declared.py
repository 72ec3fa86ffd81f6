"""A run is given no more packages than it imports, and imports none that it was not given."""

from __future__ import annotations

import ast
import sys
import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from importlib.metadata import packages_distributions
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[2]
IN_EXTRAS = {"cupy": "cupy-cuda13x", "portalocker": "portalocker"}
"""Modules that an extra or another system brings, which need not be installed here."""
PART_OF = {"pydantic_core": "pydantic", "markupsafe": "jinja2"}
"""Modules of packages that another one brings and documents as its own (pydantic's errors of a
validator, jinja's `Markup`); the other one says which version fits."""


def imported(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name.partition(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            yield node.module.partition(".")[0]


@cache
def foreign() -> dict[str, str]:
    """Each module from elsewhere that the package imports, and a file that does."""
    seen: dict[str, str] = {}
    for file in sorted((ROOT / "burnin").rglob("*.py")):
        for module in imported(ast.parse(file.read_text(encoding="utf-8"))):
            if module not in sys.stdlib_module_names and module != "burnin":
                seen.setdefault(module, str(file.relative_to(ROOT)))
    return seen


def packages_of(module: str) -> set[str]:
    if module in IN_EXTRAS:
        return {IN_EXTRAS[module]}
    if module in PART_OF:
        return {PART_OF[module]}
    return {canonicalize_name(name) for name in brought().get(module, ())}


@cache
def brought() -> Mapping[str, list[str]]:
    return packages_distributions()


def declared(*extras: str) -> set[str]:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    texts = list(project["dependencies"])
    for extra in extras:
        texts += project["optional-dependencies"][extra]
    return {canonicalize_name(Requirement(text).name) for text in texts}


def test_every_package_that_a_run_is_given_is_imported() -> None:
    used = set[str]().union(*(packages_of(module) for module in foreign()))
    assert len(used) > 10
    assert declared() - used == set()


def test_every_module_from_elsewhere_is_declared() -> None:
    known = declared("cuda", "page", "history", "shop")
    undeclared = {m: file for m, file in foreign().items() if not packages_of(m) & known}
    assert undeclared == {}
