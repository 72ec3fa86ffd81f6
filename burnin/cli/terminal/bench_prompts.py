"""Prompts of a ticket's work at the bench: a line typed, in time or whenever it comes."""

from __future__ import annotations

import sys
from collections.abc import Callable

import typer

from burnin.cli.terminal.keys import typed_within
from burnin.cli.terminal.prompt_block import BELL, look_of_output, prompt_block
from burnin.cli.terms import CliRefusal
from burnin.core.errors import BadInput
from burnin.core.meaning import Note, Prompt, Reason
from burnin.report.languages.catalogue import Catalogue


def telling(words: Catalogue) -> Callable[[Note | Reason | str], None]:
    """Prints notes in a language; what is wrong with what was typed is told as it is."""

    def tell(told: Note | Reason | str) -> None:
        typer.echo(f"  {told if isinstance(told, str) else words.say(told)}")

    return tell


def ask_line(words: Catalogue) -> Callable[[Prompt], str]:
    """Asks and waits for a line; the line is empty where input has ended."""

    def ask(prompt: Prompt) -> str:
        _show(words, prompt)
        line = sys.stdin.readline()
        if not line:
            sys.stdout.write("\n")
        return line

    return ask


def ask_timed(words: Catalogue) -> Callable[[Prompt, float], str | None]:
    """Asks and waits so many seconds for a line; None where nobody answered.

    Asking raises BadInput where nobody is at the terminal.
    """

    def ask(prompt: Prompt, seconds: float) -> str | None:
        if not sys.stdin.isatty():
            raise BadInput(CliRefusal.NOBODY_AT_TERMINAL())
        _show(words, prompt, seconds)
        ready = typed_within(sys.stdin, seconds)
        line = sys.stdin.readline() if ready else ""
        if not line:
            sys.stdout.write("\n")
            return None
        return line

    return ask


def _show(words: Catalogue, prompt: Prompt, seconds: float | None = None) -> None:
    look = look_of_output()
    bell = BELL if sys.stdout.isatty() else ""
    sys.stdout.write(f"{bell}\n{prompt_block(prompt, words.say, look, seconds)}")
    sys.stdout.flush()
