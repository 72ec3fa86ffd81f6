"""How a command ends where a person can mend what is wrong: in a sentence, with exit code 2."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import typer

from burnin.core.errors import BurninError
from burnin.core.meaning import Meaning, Reason
from burnin.core.waiting import told_by

if TYPE_CHECKING:
    from burnin.report.languages.catalogue import Catalogue


@contextmanager
def plain_errors(language: str = "en") -> Iterator[None]:
    """What a person can mend is told in a sentence, with exit code 2 and no traceback.

    What a command has to wait for is told too, as soon as it waits for longer than a moment.
    """
    try:
        with told_by(lambda why: _say(language, why)):
            yield
    except BurninError as error:
        typer.echo(_in(language, error), err=True)
        raise typer.Exit(2) from error
    except BrokenPipeError:
        raise  # nobody is there to read a sentence; the command line's own library ends it
    except OSError as error:
        typer.echo(_in(language, error), err=True)
        raise typer.Exit(2) from error


def told(error: Exception, words: Catalogue) -> str:
    """An error as a person reads it: a reason worded, a text as it is."""
    if isinstance(error, OSError):
        from burnin.core.system import ours

        error = ours(error)
    if isinstance(error, BurninError):
        return words.say(error.told) if isinstance(error.told, Meaning) else error.told
    return str(error)


def _say(language: str, why: Reason) -> None:
    from burnin.report.languages.catalogue import catalogue

    try:
        words = catalogue(language)
    except BurninError:
        words = catalogue()
    typer.echo(words.say(why), err=True)


def _in(language: str, error: Exception) -> str:
    from burnin.report.languages.catalogue import ORIGINAL, catalogue

    if isinstance(error, BurninError) and isinstance(error.told, str):
        return error.told
    for code in (language, ORIGINAL):
        try:
            return told(error, catalogue(code))
        except BurninError:
            continue
    return str(error)  # no words at all: a word file that stands for all languages is faulty
