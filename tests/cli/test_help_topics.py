"""`burnin help`: pages on one thing each, in both languages, whose commands are real ones."""

from __future__ import annotations

import re

import pytest
from typer.core import TyperGroup
from typer.main import get_command
from typer.testing import CliRunner

from burnin.cli.app import app
from burnin.cli.help_topics import HelpTopic, help_lines
from burnin.report.languages.catalogue import catalogue

TOPICS = [topic.name.lower() for topic in HelpTopic]


def test_the_pages_are_listed_with_their_titles() -> None:
    told = CliRunner().invoke(app, ["help", "--language", "de"]).output
    assert all(f"  {topic}" in told for topic in TOPICS)
    assert "Urteile: was das eine Wort heißt" in told


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("topic", TOPICS)
def test_a_page_fits_the_terminal_and_names_commands_that_there_are(
    topic: str, language: str
) -> None:
    for width in (60, 80, 120):
        lines = list(help_lines(topic, catalogue(language), width))
        assert all(len(line) < width for line in lines if not line.startswith("  "))
    known = get_command(app)
    assert isinstance(known, TyperGroup)
    for name in re.findall(r"burnin ([a-z-]+)", "\n".join(lines)):
        assert name in known.commands, name


def test_a_topic_is_found_by_its_name_in_any_language() -> None:
    words = catalogue("de")
    assert list(help_lines("Wächter", words, 80)) == list(help_lines("guards", words, 80))
    assert CliRunner().invoke(app, ["help", "moon"]).exit_code == 2
