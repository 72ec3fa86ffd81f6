"""Where no language is asked for, commands speak that of the surroundings, if there is one."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from typer.testing import CliRunner

from burnin.cli.app import app
from burnin.cli.ticket_lines import in_another_language
from burnin.ticket.shop.shop_file import FILE, write_example


def told(results: Path, **surroundings: str) -> str:
    ran = CliRunner(env={"LC_ALL": "", "LC_MESSAGES": "", "LANG": "", **surroundings}).invoke(
        app, ["tickets", "--results", str(results)]
    )
    assert ran.exit_code == 0, ran.output
    return ran.output


@pytest.mark.parametrize(
    ("surroundings", "german"),
    [
        ({"LANG": "de_DE.UTF-8"}, True),
        ({"LANG": "de_AT.UTF-8", "LC_ALL": "C"}, False),
        ({"LANG": "en_GB.UTF-8", "LC_MESSAGES": "de_DE"}, True),
        ({"LANG": "fi_FI.UTF-8"}, False),
        ({"LANG": "POSIX"}, False),
        ({}, False),
    ],
)
def test_commands_speak_the_language_of_the_surroundings(
    tmp_path: Path, surroundings: dict[str, str], german: bool
) -> None:
    assert ("Kein offener Auftrag" in told(tmp_path, **surroundings)) is german


def test_a_language_that_is_asked_for_comes_first(tmp_path: Path) -> None:
    ran = CliRunner(env={"LC_ALL": "de_DE.UTF-8"}).invoke(
        app, ["tickets", "--results", str(tmp_path), "--language", "en"]
    )
    assert "No open ticket" in ran.output


@pytest.mark.parametrize("language", ["en", "de"])
def test_a_shop_file_is_written_for_the_language_that_is_shown(
    tmp_path: Path, language: str
) -> None:
    content = tomllib.loads(write_example(tmp_path, language).read_text("utf-8"))
    assert content["languages"] == [language]
    assert set(content["warranty"]) == {language}


def test_a_warranty_that_the_shop_has_in_no_such_language_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The customer would read it in a language that the rest of the sheet is not in."""
    (tmp_path / FILE).write_text('name = "Wrenfield"\n[warranty]\nen = "90 days"\n', "utf-8")
    monkeypatch.setenv("BURNIN_SHOP", str(tmp_path))
    told = list(in_another_language(("en", "de")))
    assert [one["language"] for one in told] == ["de"]
    (tmp_path / FILE).write_text('name = "Wrenfield"\n', "utf-8")
    assert list(in_another_language(("en", "de"))) == []
