"""README and guide hold what they say: every link leads somewhere, every command is one of ours."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import typer.main

from burnin.cli.app import app

ROOT = Path(__file__).parents[2]
CHAPTERS = sorted((ROOT / "burnin" / "guide").glob("*.md"))
PAGES = (ROOT / "README.md", *CHAPTERS)
NAMES = [page.relative_to(ROOT).as_posix() for page in PAGES]
_LINK = re.compile(r"\]\((?!https?:)([^)#]+)")
_RUN = re.compile(r"results/4711/<(newer|older) run>")


def commands(text: str) -> Iterator[list[str]]:
    """The words of each line of a shell block that begins with our command."""
    for block in re.findall(r"```sh\n(.*?)```", text, re.S):
        for line in block.replace("\\\n", " ").splitlines():
            told = line.partition(" #")[0].strip()
            if told.startswith(("burnin ", "sudo .venv/bin/burnin ")):
                yield shlex.split(_RUN.sub(r"results/4711/\1", told).partition("burnin ")[2])


@pytest.mark.parametrize("page", PAGES, ids=NAMES)
def test_every_link_leads_to_a_file_of_ours(page: Path) -> None:
    gone = [to for to in _LINK.findall(page.read_text("utf-8")) if not (page.parent / to).exists()]
    assert not gone


def test_every_chapter_is_in_the_readme_and_every_picture_shown() -> None:
    linked = set(_LINK.findall((ROOT / "README.md").read_text("utf-8")))
    pictures = (ROOT / "burnin" / "guide" / "pictures").iterdir()
    assert {path.relative_to(ROOT).as_posix() for path in (*CHAPTERS, *pictures)} <= linked


@pytest.mark.parametrize("page", PAGES, ids=NAMES)
def test_every_command_and_option_is_there(page: Path) -> None:
    for words in commands(page.read_text("utf-8")):
        found: Any = typer.main.get_command(app)
        while hasattr(found, "commands") and words and not words[0].startswith("-"):
            assert words[0] in found.commands, words
            found = found.commands[words.pop(0)]
        offered = {name for option in found.params for name in option.opts + option.secondary_opts}
        asked = {word.partition("=")[0] for word in words if re.match(r"--?[a-z]", word)}
        assert asked <= offered | {"--help"}, (found.name, asked - offered)


@pytest.mark.long
def test_the_first_hour_goes_as_the_readme_tells(tmp_path: Path) -> None:
    text = (ROOT / "README.md").read_text("utf-8")
    hour = text.partition("## A first hour\n")[2].partition("\n## ")[0]
    env = {**os.environ, "HOME": str(tmp_path), "XDG_CONFIG_HOME": str(tmp_path), "LANG": "C.UTF-8"}
    ended: dict[str, int] = {}
    for words in commands(hour):
        runs = sorted(path for path in tmp_path.glob("results/4711/2*") if path.is_dir())
        places = {"newer": runs[-1:], "older": runs[:1]}
        words = [
            str(places[told][0]) if (told := word.removeprefix("results/4711/")) in places else word
            for word in words
        ]
        ran = subprocess.run(
            [sys.executable, "-m", "burnin", *words],
            cwd=tmp_path, env=env, capture_output=True, text=True, check=False,
        )  # fmt: skip
        ended[" ".join(words)] = ran.returncode
        assert "Traceback" not in ran.stderr
    assert {told for told, code in ended.items() if code} == {
        "run --ticket 4711 --simulated narrow_link"
    }
    assert "SIMULATED PASS" in ran.stdout or "as it left" in ran.stdout
