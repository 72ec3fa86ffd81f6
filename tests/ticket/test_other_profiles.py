"""A run with another profile proves what it proves, and outweighs nothing."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from burnin.cli.app import app
from burnin.record.rows import read_facts


def call(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(app, list(words))
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.output


@pytest.fixture(autouse=True)
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path / "home"))


@pytest.mark.parametrize("named", [["-p", "desktop_air"], []])
def test_a_failure_stays_though_another_profile_passes(named: list[str], tmp_path: Path) -> None:
    assert call("ticket", "open", "21", "--customer", "Ottilie Maro", *named)[0] == 0
    code, _ = call("run", "--ticket", "21", "-p", "desktop_air", "--simulated", "stuck_memory")
    assert code == 1
    code, told = call("run", "--ticket", "21", "-p", "link_soak", "--simulated", "healthy")
    assert code == 4
    assert "failed, repair it" in told
    _, told = call("handover", "21")
    assert "PASS" not in told.replace("NOT PASSED", "")
    handover = max((tmp_path / "results" / "21").glob("handover-*"))
    facts = read_facts_of(handover)
    assert facts["verdict"] == "fail"
    assert "21" in call("tickets")[1]


def read_facts_of(handover: Path) -> dict[str, object]:
    found = json.loads((handover / "handover.json").read_text(encoding="utf-8"))
    assert isinstance(found, dict)
    return found


def test_another_profile_does_not_become_the_tickets(tmp_path: Path) -> None:
    call("ticket", "open", "22", "-p", "short_x8")
    assert call("run", "--ticket", "22", "-p", "link_soak", "--simulated", "healthy")[0] == 0
    code, _ = call("run", "--ticket", "22", "--simulated", "healthy_x8")
    assert code == 0
    newest = max((tmp_path / "results" / "22").glob("*/run.json"), key=lambda p: p.stat().st_mtime)
    profile = read_facts(newest.parent)["profile"]
    assert isinstance(profile, dict)
    assert profile["name"] == "short_x8"
