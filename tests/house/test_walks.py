"""The contributor's guide leads where it says: each function of its walks is there, once."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
STEP = re.compile(r"^\d+\. `(?P<file>[a-z0-9_/]+\.py)` `(?P<name>\w+)`$", re.MULTILINE)
MOST_FILES = {"A limit,": 8, "A temperature,": 8, "A sheet,": 10}


def walk(begins: str) -> list[tuple[str, str]]:
    """File and name of each step of the walk whose heading begins so."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    _, _, rest = text.partition(f"\n{begins}")
    steps, _, _ = rest.partition("\n\n1. ")[2].partition("\n\n")
    return STEP.findall(f"1. {steps}")


@pytest.mark.parametrize(("begins", "most"), MOST_FILES.items())
def test_a_walk_is_short_and_enters_no_file_twice(begins: str, most: int) -> None:
    files = [file for file, _ in walk(begins)]
    assert 5 <= len(files) <= most
    assert len(set(files)) == len(files)


@pytest.mark.parametrize("begins", MOST_FILES)
def test_every_step_of_a_walk_is_there(begins: str) -> None:
    for file, name in walk(begins):
        tree = ast.parse((ROOT / file).read_text(encoding="utf-8"))
        defined = {n.name for n in tree.body if isinstance(n, ast.FunctionDef | ast.ClassDef)}
        assert name in defined, f"{file} has no {name}"


def test_the_guide_names_only_files_that_are_there() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`((?:burnin|tests|profiles|results)/[\w/.-]+)`", text))
    rooms = {p.name for p in (ROOT / "burnin").iterdir() if p.is_dir()}
    for inside in re.findall(r"`(\w+/[\w/.-]+\.(?:py|md))`", text):
        if inside.split("/")[0] in rooms:
            named.add(f"burnin/{inside}")
    missing = sorted(path for path in named if not (ROOT / path).exists())
    assert not missing


def test_every_module_opens_with_a_sentence_that_the_guide_s_search_finds() -> None:
    files = sorted((ROOT / "burnin").rglob("*.py"))
    assert len(files) > 500
    silent = [f for f in files if not f.read_text(encoding="utf-8").startswith('"""')]
    assert not silent
