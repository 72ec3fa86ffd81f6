"""No code compares, cuts or searches a sentence that the tool wrote itself (meaning is typed).

The walk over the package's syntax trees looks at every name that holds what the tool says: nothing
may ask whether a text lies in it, cut it, or match it, and no text may stand in its place.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import burnin

PACKAGE = Path(burnin.__file__).parent
SAYINGS = {
    *("reason", "reasons", "why", "suspect", "check", "note", "notes", "promise", "prompt"),
    *("why_fail", "end_reason", "forecast", "sentence", "explanation", "owed_what"),
}
CUTTING = {
    *("startswith", "endswith", "removeprefix", "removesuffix", "split", "rsplit", "partition"),
    *("rpartition", "find", "rfind", "index", "replace", "count", "splitlines", "lower"),
}
TAKES_A_REASON = {"NotMeasured", "not_measured", "OwedWork", "StageFinished", "RunFinished"}
KEYWORDS = {"reason", "reasons", "why_fail", "suspect", "note", "promise", "source"}


def name_of(node: ast.expr) -> str:
    """The last part of a dotted name, of a call's too; empty for anything else."""
    if isinstance(node, ast.Attribute):
        return node.attr
    if isinstance(node, ast.Name):
        return node.id
    if isinstance(node, ast.Subscript):
        inside = node.slice
        return inside.value if isinstance(inside, ast.Constant) and isinstance(
            inside.value, str
        ) else name_of(node.value)
    return ""


def is_text(node: ast.expr) -> bool:
    if isinstance(node, ast.JoinedStr):
        return True
    return isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value != ""


def readings_of_sentences(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Line and what is wrong there."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Compare):
            sides = [node.left, *node.comparators]
            if any(is_text(s) for s in sides) and any(name_of(s) in SAYINGS for s in sides):
                yield node.lineno, "compares a sentence with a text"
        if not isinstance(node, ast.Call):
            continue
        function = node.func
        if isinstance(function, ast.Attribute) and function.attr in CUTTING:
            if name_of(function.value) in SAYINGS:
                yield node.lineno, f"cuts or searches a sentence: {function.attr}"
            said = function.value
            if isinstance(said, ast.Call) and name_of(said.func) in ("say", "says"):
                yield node.lineno, f"cuts or searches what a catalogue said: {function.attr}"
        of_re = isinstance(function, ast.Attribute) and name_of(function.value) == "re"
        if of_re and any(name_of(a) in SAYINGS for a in node.args):
            yield node.lineno, "matches a sentence"
        if name_of(function) in TAKES_A_REASON and any(is_text(a) for a in node.args[2:]):
            yield node.lineno, "a text in the place of a meaning"
        if name_of(function) == "NotMeasured" and any(is_text(a) for a in node.args):
            yield node.lineno, "a text in the place of a reason"
        if any(k.arg in KEYWORDS and is_text(k.value) for k in node.keywords):
            yield node.lineno, "a text in the place of a meaning"


def test_the_walk_finds_what_it_looks_for() -> None:
    planted = [
        "if 'no loop' in outcome.reason: pass",
        "if reason == 'left out by hand': pass",
        "told = reason.removeprefix('x')",
        "re.search('x', why)",
        "NotMeasured('no such sensor')",
        "take(not_measured('stage', '', f'after {x} s'))",
        "judge('a', 1.0, '', None, why_fail='it is wrong')",
        "words.say(reason).startswith('no')",
        "if row['reason'] == 'x': pass",
    ]
    for line in planted:
        assert list(readings_of_sentences(ast.parse(line))), line


def test_no_code_reads_a_sentence() -> None:
    found = [
        f"{path.relative_to(PACKAGE)}:{line}: {what}"
        for path in sorted(PACKAGE.rglob("*.py"))
        for line, what in readings_of_sentences(ast.parse(path.read_text(encoding="utf-8")))
    ]
    assert not found, "\n".join(found)
