"""`burnin --version`, and values that begin like an option."""

from __future__ import annotations

from importlib.metadata import version
from pathlib import Path

from typer.testing import CliRunner

from burnin.cli.app import app
from tests.ticket.tickets import ticket


def test_the_version_is_the_installed_packages() -> None:
    told = CliRunner().invoke(app, ["--version"])
    assert told.exit_code == 0
    assert told.output.strip() == f"burnin {version('burnin')}"


def test_a_negative_value_is_a_value_and_is_refused_as_one(tmp_path: Path) -> None:
    ticket(tmp_path)
    told = CliRunner().invoke(
        app, ["measure", "4711", "B14", "-0.3 V", "--results", str(tmp_path)]
    )
    assert told.exit_code == 2
    assert "is negative, which no part reads" in told.output
