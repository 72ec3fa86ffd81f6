"""The harness itself: it plants where it says, draws alike for the same seed, and counts right."""

from __future__ import annotations

import doctest
from pathlib import Path

import pytest

from tests.planted import mutants, tree
from tests.planted.bugs import Bug, State, _fate
from tests.planted.mutants import Mutant, drawn, groups
from tests.planted.mutate import lower_bound, may_live, told
from tests.planted.tree import TREE, Outcomes, carried_out, replace_once

BUG = Bug("b", "", "burnin/x.py", "a", "b", ("tests/t.py::test_a", "tests/t.py::test_b"))


def test_the_examples_hold() -> None:
    for module in (tree, mutants):
        assert doctest.testmod(module).failed == 0


def test_a_text_is_replaced_where_it_stands_once_and_refused_elsewhere(tmp_path: Path) -> None:
    file = tmp_path / "x.py"
    file.write_text("one = 1\ntwo = 2\ntwo = 2\n", encoding="utf-8")
    replace_once(file, "one = 1", "one = 3")
    assert file.read_text(encoding="utf-8") == "one = 3\ntwo = 2\ntwo = 2\n"
    for text in ("two = 2", "three"):
        with pytest.raises(ValueError, match="stands there"):
            replace_once(file, text, "")


@pytest.mark.parametrize(
    ("found", "state", "missed"),
    [
        (Outcomes(failed=("tests/t.py::test_a[1]", "tests/t.py::test_b")), State.KILLED, 0),
        (Outcomes(("tests/t.py::test_a",), ("tests/t.py::test_b",)), State.ALIVE, 1),
        (Outcomes(("tests/t.py::test_a",), (), ("tests/t.py::test_b",)), State.NOT_TRIED, 1),
        (Outcomes(passed=("tests/t.py::test_a", "tests/t.py::test_b")), State.ALIVE, 2),
        (Outcomes(hung=True), State.KILLED, 0),
        (Outcomes(broken="no such test"), State.BROKEN, 0),
        (Outcomes(("tests/t.py::test_ab", "tests/t.py::test_b")), State.ALIVE, 1),
    ],
)
def test_a_bug_is_killed_by_every_test_that_must_fail(
    found: Outcomes, state: State, missed: int
) -> None:
    fate = _fate(BUG, found)
    assert (fate.state, len(fate.missed)) == (state, missed)


def test_tests_are_carried_out_on_the_package_of_their_own_tree(tmp_path: Path) -> None:
    (tmp_path / "burnin").mkdir()
    (tmp_path / "burnin" / "__init__.py").write_text("HERE = True\n", encoding="utf-8")
    (tmp_path / "tests").mkdir()
    (tmp_path / "tests" / "test_here.py").write_text(
        "import pytest, subprocess, sys\n"
        "def test_here():\n    import burnin; assert burnin.HERE\n"
        "def test_below(tmp_path):\n"
        "    code = 'import burnin; burnin.HERE'\n"
        "    assert subprocess.run([sys.executable, '-c', code], cwd=tmp_path).returncode == 0\n"
        "def test_not():\n    assert False\n"
        "def test_skipped():\n    pytest.skip('x')\n",
        encoding="utf-8",
    )
    found = carried_out(tmp_path, ["tests/test_here.py"])
    assert found.passed == ("tests/test_here.py::test_here", "tests/test_here.py::test_below")
    assert found.failed == ("tests/test_here.py::test_not",)
    assert found.skipped == ("tests/test_here.py::test_skipped",)
    assert carried_out(tmp_path, ["tests/test_none.py"]).broken


def test_a_sample_is_the_same_for_the_same_seed_and_all_where_there_are_few() -> None:
    names = [f"x_{n}" for n in range(100)]
    assert drawn(names, 40, 1) == drawn(list(reversed(names)), 40, 1)
    assert drawn(names, 40, 1) != drawn(names, 40, 2)
    assert drawn(names, 200, 1) == sorted(names)


def test_the_lower_bound_is_the_exact_one() -> None:
    # Clopper-Pearson, one-sided: of n tries without a miss it is 0.05 to the power of 1/n
    assert lower_bound(60, 60) == pytest.approx(0.05 ** (1 / 60))
    assert lower_bound(0, 60) == 0.0
    assert lower_bound(540, 600) == pytest.approx(0.8776, abs=1e-3)


def test_what_is_told_names_every_survivor_with_its_change() -> None:
    found = [
        Mutant("burnin/x.py", "x_a__mutmut_1", mutants.State.KILLED),
        Mutant("burnin/x.py", "x_a__mutmut_2", mutants.State.SURVIVED, "-    a\n+    b"),
    ]
    text = told(found)
    assert "x_a__mutmut_1" not in text
    assert "survived: x_a__mutmut_2" in text
    assert "+    b" in text
    assert all(may_live().values())


def test_every_group_names_files_and_tests_that_are_there() -> None:
    modules = [module for group in groups() for module in group.modules]
    assert len(set(modules)) == len(modules) > 25
    for group in groups():
        for file in (*group.modules, *group.tests):
            assert (TREE / file.partition("::")[0]).is_file(), file
