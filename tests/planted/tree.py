"""A copy of the tree in which something may be changed, and tests carried out there."""

from __future__ import annotations

import hashlib
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ET
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

TREE = Path(__file__).parents[2]
KEPT = TREE / ".planted"
"""Where results lie, so that a long run goes on where it was stopped."""
_COPIED = ("burnin", "tests", "profiles", "results", "README.md", "DEVELOPERS.md", "pyproject.toml")
_PYTEST = (
    "-o", "addopts=", "-q", "-p", "no:cacheprovider", "-p", "no:xdist", "--hypothesis-seed=1",
    "-W", "error",
)  # fmt: skip
PATIENCE_S = 900.0


@contextmanager
def copied_tree() -> Iterator[Path]:
    """A copy of all that tests need, taken away afterwards."""
    with tempfile.TemporaryDirectory(prefix="planted-") as room:
        copy = Path(room) / "tree"
        copy.mkdir()
        for name in _COPIED:
            if (TREE / name).is_dir():
                shutil.copytree(TREE / name, copy / name)
            else:
                shutil.copy2(TREE / name, copy / name)
        yield copy


def replace_once(file: Path, text: str, instead: str) -> None:
    """Put one text in the place of another; raises ValueError where it is not there once."""
    content = file.read_text(encoding="utf-8")
    if content.count(text) != 1:
        raise ValueError(f"{file}: stands there {content.count(text)} times: {text!r}")
    file.write_text(content.replace(text, instead), encoding="utf-8")


@dataclass(frozen=True)
class Outcomes:
    """Node ids of tests that failed, passed or were skipped; `hung`: they did not end in time.

    `broken`: what pytest printed where it could carry out none.
    """

    failed: tuple[str, ...] = ()
    passed: tuple[str, ...] = ()
    skipped: tuple[str, ...] = ()
    hung: bool = False
    broken: str = ""


def carried_out(
    tree: Path, tests: Sequence[str], *, patience_s: float = PATIENCE_S, first_only: bool = False
) -> Outcomes:
    """Carry out tests in a tree with its own package, and no other, on the path."""
    with tempfile.TemporaryDirectory(prefix="planted-") as room:
        report = Path(room) / "report.xml"
        words = [sys.executable, "-m", "pytest", *_PYTEST, f"--junit-xml={report}", *tests]
        words += ["-x"] if first_only else []
        said, in_time = _ended(words, tree, patience_s)
        if not in_time:
            return Outcomes(hung=True)
        if not report.exists():
            return Outcomes(broken=said[-2000:])
        found = _read(report)
    if not (found.failed or found.passed or found.skipped):
        return Outcomes(broken=said[-2000:])
    return found


def _ended(words: Sequence[str], tree: Path, patience_s: float) -> tuple[str, bool]:
    """What a command printed, and whether it ended in time; all of its processes are ended."""
    with subprocess.Popen(
        words, cwd=tree, env=environment(tree), text=True, start_new_session=True,
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    ) as process:  # fmt: skip
        try:
            said, _ = process.communicate(timeout=patience_s)
            return said, True
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, signal.SIGKILL)
            return "", False


def environment(tree: Path) -> dict[str, str]:
    """This process's, with the tree's own package on the path; what another pytest set is gone."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("PYTEST")}
    return kept | {"PYTHONPATH": str(tree), "PYTHONDONTWRITEBYTECODE": "1"}


def _read(report: Path) -> Outcomes:
    failed, passed, skipped = [], [], []
    for case in ET.parse(report).getroot().iter("testcase"):
        node = node_id(case.get("classname", ""), case.get("name", ""))
        if case.find("failure") is not None or case.find("error") is not None:
            failed.append(node)
        elif case.find("skipped") is not None:
            skipped.append(node)
        else:
            passed.append(node)
    return Outcomes(tuple(failed), tuple(passed), tuple(skipped))


def node_id(classname: str, name: str) -> str:
    """``tests/core/test_x.py::test_y[z]`` out of what a report names.

    >>> node_id("tests.core.test_x", "test_y[z]")
    'tests/core/test_x.py::test_y[z]'
    """
    return f"{classname.replace('.', '/')}.py::{name}"


def of_node(asked: str, node: str) -> bool:
    """Whether a test that was carried out is one of those asked for.

    >>> of_node("tests/a.py::test_b", "tests/a.py::test_b[c]"), of_node("a.py::t", "a.py::t2")
    (True, False)
    """
    return node == asked or node.startswith((f"{asked}[", f"{asked}::"))


def digest(parts: Iterable[str | bytes | Path]) -> str:
    """One short check over texts and files: what it stands for is unchanged while it is."""
    whole = hashlib.sha256()
    for part in parts:
        raw = part.read_bytes() if isinstance(part, Path) else part
        whole.update(raw if isinstance(raw, bytes) else raw.encode())
        whole.update(b"\0")
    return whole.hexdigest()[:16]
