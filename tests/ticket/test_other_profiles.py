"""A run with another profile proves what it proves, and outweighs nothing."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from burnin.cli.app import app
from burnin.record.reader import read_run

MEMORY = """
format = 1
title = "Memory only"
[guards]
gpu_temp_limit_c = 90.0
[[stages]]
stage = "enumeration"
[[stages]]
stage = "memory"
patterns = ["solid"]
"""
LINK = """
format = 1
title = "Link only"
[guards]
gpu_temp_limit_c = 90.0
[[stages]]
stage = "link"
width_lanes = 16
generation = 4
load_s = 5.0
"""


def call(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(app, list(words))
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.output


@pytest.fixture(autouse=True)
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A home of our own, with two small profiles in it."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    for name, text in (("memory.toml", MEMORY), ("link.toml", LINK)):
        (tmp_path / name).write_text(text, "utf-8")


def failure_stays(results: Path, named: list[str], first: str, second: str) -> None:
    """One profile fails on the ticket, another one passes; the ticket stays failed."""
    assert call("ticket", "open", "21", "--simulated", "--customer", "Maro", *named)[0] == 0
    code, _ = call("run", "--ticket", "21", "-p", first, "--simulated", "stuck_memory")
    assert code == 1
    code, told = call("run", "--ticket", "21", "-p", second, "--simulated", "healthy")
    assert code == 4
    assert "failed, repair it" in told
    _, told = call("handover", "21")
    assert "PASS" not in told.replace("NOT PASSED", "")
    handover = max((results / "21").glob("handover-*"))
    assert json.loads((handover / "handover.json").read_text("utf-8"))["verdict"] == "fail"
    assert "21" in call("tickets")[1]


@pytest.mark.parametrize("named", [["-p", "memory.toml"], []])
def test_a_failure_stays_though_another_profile_passes(named: list[str], tmp_path: Path) -> None:
    failure_stays(tmp_path / "results", named, "memory.toml", "link.toml")


@pytest.mark.long
@pytest.mark.parametrize("named", [["-p", "desktop_air"], []])
def test_a_failure_stays_with_shipped_profiles(named: list[str], tmp_path: Path) -> None:
    failure_stays(tmp_path / "results", named, "desktop_air", "link_soak")


def test_another_profile_does_not_become_the_tickets(tmp_path: Path) -> None:
    call("ticket", "open", "22", "-p", "memory.toml", "--simulated")
    assert call("run", "--ticket", "22", "-p", "link.toml", "--simulated", "healthy")[0] == 0
    code, _ = call("run", "--ticket", "22", "--simulated", "healthy")
    assert code == 0
    newest = max((tmp_path / "results" / "22").glob("*/run.json"), key=lambda p: p.stat().st_mtime)
    assert read_run(newest.parent).profile.name == "memory"
