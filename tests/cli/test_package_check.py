"""An installation compared with its lock: every alteration of a made-up one is told."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from typer.testing import CliRunner

from burnin.cli.app import app
from burnin.cli.packages import check as checking
from burnin.cli.packages.check import Checked, check
from burnin.cli.packages.locks import Locked, read_lock
from burnin.cli.packages.meanings import OFFLINE, PackageFault, PackageNote, PackageTerm
from burnin.report.languages.catalogue import catalogue
from burnin.stick.root_tree import LOCKS
from tests.cli.made_up_packages import here, put

SUM = ("0" * 64,)
LOCK = (Locked("strata", "1.0", True, SUM), Locked("gone", "2.0", False, SUM))


@pytest.fixture
def site(tmp_path: Path) -> Path:
    put(tmp_path, "strata")
    return tmp_path


def codes(checked: Checked) -> list[str]:
    return [fault.code for fault in checked.faults]


def test_what_is_as_locked_has_no_fault(site: Path) -> None:
    checked = check(here(site), LOCK, LOCK)
    assert checked.faults == ()
    assert (checked.packages_count, checked.files_count) == (1, 3)


def appended(site: Path) -> None:
    with (site / "strata.py").open("a") as file:
        file.write("import os\n")


def removed(site: Path) -> None:
    (site / "strata.py").unlink()


def put_beside(site: Path) -> None:
    (site / "starts.pth").write_text("import strata\n")


def without_sum(site: Path) -> None:
    record = site / "strata-1.0.dist-info" / "RECORD"
    lines = record.read_text().splitlines()
    record.write_text("\n".join(("strata.py,,", *lines[1:], "")))


def without_list(site: Path) -> None:
    (site / "strata-1.0.dist-info" / "RECORD").unlink()


@pytest.mark.parametrize(
    ("alter", "told"),
    [
        (appended, PackageFault.FILE_CHANGED(name="strata", file="strata.py")),
        (removed, PackageFault.FILE_MISSING(name="strata", file="strata.py")),
        (put_beside, PackageFault.FILE_OF_NOBODY(file="starts.pth")),
        (without_sum, PackageFault.FILE_WITHOUT_SUM(name="strata", file="strata.py")),
        (without_list, PackageFault.NO_FILE_LIST(name="strata")),
    ],
)
def test_files_that_are_not_as_they_came(
    alter: Callable[[Path], None], told: object, site: Path
) -> None:
    alter(site)
    assert told in check(here(site), LOCK, LOCK).faults


def test_what_python_compiles_for_itself_is_no_fault(site: Path) -> None:
    (site / "__pycache__").mkdir()
    (site / "__pycache__" / "strata.cpython-311.pyc").write_bytes(b"compiled")
    assert check(here(site), LOCK, LOCK).faults == ()


def test_versions_that_are_not_the_locked_ones(site: Path) -> None:
    put(site, "stray")
    lock = (Locked("strata", "1.1", True, SUM), Locked("lost", "3", True, SUM))
    assert set(check(here(site), lock, lock).faults) == {
        PackageFault.NOT_LOCKED(name="stray", version="1.0"),
        PackageFault.OTHER_VERSION(name="strata", version="1.0", locked=("1.1",)),
        PackageFault.MISSING(name="lost", locked=("3",)),
    }
    assert "packages_missing" not in codes(check(here(site), lock, ()))


def test_what_comes_with_python_is_named_and_no_fault(site: Path) -> None:
    put(site, "pip", "23.2.1")
    checked = check(here(site), LOCK, LOCK)
    assert checked.faults == ()
    assert checked.notes == (PackageNote.WITH_PYTHON(name="pip", version="23.2.1"),)


def test_a_copyleft_is_a_fault_until_somebody_accepts_it(
    site: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(site, "kept", fields=["License-Expression: MPL-2.0"])
    lock = (*LOCK, Locked("kept", "1.0", True, SUM))
    told = PackageFault.COPYLEFT(name="kept", licence="MPL-2.0")
    assert check(here(site), lock, lock).faults == (told,)
    why = PackageTerm.TESTS_ALONE()
    monkeypatch.setattr(checking, "ACCEPTED", {"kept": ("MPL-2.0", why)})
    checked = check(here(site), lock, lock)
    assert checked.faults == ()
    assert checked.notes == (PackageNote.ACCEPTED(name="kept", licence="MPL-2.0", why=why),)
    monkeypatch.setattr(checking, "ACCEPTED", {"kept": ("GPL-3.0-only", why)})
    assert check(here(site), lock, lock).faults == (told,)


def test_what_a_run_needs_is_never_accepted_for_tests(
    site: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(site, "kept", fields=["License-Expression: MPL-2.0"])
    put(site, "burnin", fields=["License-Expression: MIT", "Requires-Dist: kept"])
    lock = (*LOCK, Locked("kept", "1.0", True, SUM))
    accepted = {"kept": ("MPL-2.0", PackageTerm.TESTS_ALONE())}
    monkeypatch.setattr(checking, "ACCEPTED", accepted)
    assert codes(check(here(site), lock, lock)) == ["packages_copyleft"]


def test_what_only_an_extra_needs_is_accepted_where_nothing_that_is_given_on_holds_it() -> None:
    """The driver of the shop's server: neither the base install nor the stick's root has it."""
    why = PackageTerm.AN_EXTRA()
    extra = {name for name, (_, told) in checking.ACCEPTED.items() if told == why}
    given_on = {one.name for one in read_lock("run")}
    assert extra == {"psycopg", "psycopg-binary"}
    assert set(LOCKS) <= {"run"}
    assert not extra & given_on
    assert extra <= {one.name for one in read_lock("shop")}


def test_an_unknown_licence_is_a_fault(site: Path) -> None:
    put(site, "nameless", fields=[])
    lock = (*LOCK, Locked("nameless", "1.0", True, SUM))
    assert check(here(site), lock, lock).faults == (PackageFault.LICENCE_UNKNOWN(name="nameless"),)


def test_the_command_says_what_it_cannot_know(
    site: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from burnin.cli.packages import lines

    monkeypatch.setattr(lines, "found", lambda: here(site))
    done = CliRunner().invoke(app, ["packages", "check", "--lock", "build"])
    assert done.exit_code == 1
    assert "strata 1.0: in no lock" in done.output
    for code in OFFLINE:
        assert catalogue("en").say(code()) in done.output
    told = json.loads(CliRunner().invoke(app, ["packages", "check", "--json"]).output)
    assert {row["code"] for row in told["not_known"]} == {code.value for code in OFFLINE}
    assert CliRunner().invoke(app, ["packages", "check", "--lock", "x"]).exit_code == 2
