"""No shell is called with data: neither through `subprocess` nor through `os`."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
OF_OS = {"system", "popen", "spawnl", "spawnlp", "spawnv", "spawnvp", "execlp", "execvp"}
"""The first two take a line for a shell; the others look a name up in a path anybody may set."""
ALWAYS_A_SHELL = {"getoutput", "getstatusoutput", "create_subprocess_shell"}
STARTS = {"run", "Popen", "call", "check_call", "check_output", "create_subprocess_exec"}
SHELLS = {"sh", "bash", "dash", "zsh", "ksh"}
STANDS_FOR_A_BENCH = ("tests/others/",)
"""Cases of another hand: lines as a technician types them, written in the case itself."""


def name_of(node: ast.expr) -> str:
    return node.attr if isinstance(node, ast.Attribute) else getattr(node, "id", "")


def is_literal(node: ast.expr | None) -> bool:
    """Whether it is written out; a text that something is filled into is not."""
    if isinstance(node, ast.BinOp):
        return is_literal(node.left) and is_literal(node.right)
    return isinstance(node, ast.Constant)


def shell_of(node: ast.Call) -> str:
    """The program that a list begins with, where it is a shell with a line of its own (-c)."""
    if not (node.args and isinstance(node.args[0], ast.List)):
        return ""
    words = [w.value if isinstance(w, ast.Constant) else None for w in node.args[0].elts]
    first = str(words[0]).rpartition("/")[2] if words else ""
    dashed = [at for at, w in enumerate(words) if isinstance(w, str) and w.startswith("-")]
    lines = [at for at in dashed if "c" in str(words[at])]
    if first not in SHELLS or not lines:
        return ""
    after = node.args[0].elts[lines[0] + 1 :]
    return "" if after and is_literal(after[0]) else first


def shells_in(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Line, and what is wrong there."""
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        called = name_of(node.func)
        of = name_of(node.func.value) if isinstance(node.func, ast.Attribute) else ""
        first = node.args[0] if node.args else None
        if (of == "os" and called in OF_OS) or called in ALWAYS_A_SHELL:
            if not is_literal(first):
                yield node.lineno, f"{called} with data"
        elif called in STARTS or called == "Popen":
            shell = next((k.value for k in node.keywords if k.arg == "shell"), None)
            off = shell is None or (isinstance(shell, ast.Constant) and not shell.value)
            if not off and not is_literal(first):
                yield node.lineno, f"{called} through a shell, with data"
            if name := shell_of(node):
                yield node.lineno, f"{called} of {name} -c, with data"


@pytest.mark.parametrize(
    "line",
    [
        "subprocess.run(f'ls {folder}', shell=True)",
        "subprocess.Popen(line, shell=wanted)",
        "check_output('ls ' + name, shell=1)",
        "os.system(line)",
        "os.popen('lspci -s %s' % address)",
        "subprocess.getoutput(line)",
        "subprocess.run(['bash', '-c', line])",
        "run(['/bin/sh', '-ec', f'ls {name}'])",
    ],
)
def test_the_walk_finds_a_shell_that_is_given_data(line: str) -> None:
    assert len(list(shells_in(ast.parse(line)))) == 1


@pytest.mark.parametrize(
    "line",
    [
        "subprocess.run(['lspci', '-s', address])",
        "subprocess.run('ls | wc -l', shell=True)",
        "subprocess.run(['bash', '-c', 'ulimit -n 20; exec true'])",
        "subprocess.run([*ask, '--lines=1'], shell=False)",
    ],
)
def test_the_walk_lets_be_what_no_data_reach(line: str) -> None:
    assert list(shells_in(ast.parse(line))) == []


@pytest.mark.parametrize("folder", ["burnin", "tests"])
def test_no_shell_is_called_with_data(folder: str) -> None:
    files = sorted((ROOT / folder).rglob("*.py"))
    assert len(files) > 100
    found = [
        f"{inside}:{line}: {what}"
        for file in files
        if not (inside := str(file.relative_to(ROOT))).startswith(STANDS_FOR_A_BENCH)
        for line, what in shells_in(ast.parse(file.read_text(encoding="utf-8")))
    ]
    assert found == []
