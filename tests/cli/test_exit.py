"""How a command ends: what a person can mend is a sentence in their language, and exit code 2."""

from __future__ import annotations

import errno
import os

import pytest
import typer

from burnin.cli.exit import plain_errors, told
from burnin.core.errors import BadInput, EngineUnavailable
from burnin.core.system import KNOWN
from burnin.report.languages.catalogue import catalogue
from burnin.run.reasons import RunReason

IN_GERMAN = {
    errno.ENOSPC: "kein Platz mehr",
    errno.EROFS: "nur lesen",
    errno.EACCES: "darf das nicht",
    errno.ENOENT: "gibt es nicht",
    errno.EMFILE: "zu viele Dateien",
}


@pytest.mark.parametrize(("number", "words"), IN_GERMAN.items())
def test_what_the_system_refuses_is_told_in_the_language(
    number: int, words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(typer.Exit) as ended, plain_errors("de"):
        raise OSError(number, os.strerror(number), "results/a.csv")
    assert ended.value.exit_code == 2
    assert words in capsys.readouterr().err


def test_a_closed_pipe_is_left_to_the_command_line() -> None:
    assert errno.EPIPE in KNOWN
    with pytest.raises(BrokenPipeError), plain_errors():
        raise BrokenPipeError(errno.EPIPE, "Broken pipe")


def test_a_reason_is_worded_and_a_sentence_stays(capsys: pytest.CaptureFixture[str]) -> None:
    reason = RunReason.LEFT_OUT_BY_HAND()
    for error, said in (
        (EngineUnavailable(reason), "von Hand ausgelassen"),
        (BadInput(reason), "von Hand ausgelassen"),
        (BadInput("no such stage"), "no such stage"),
    ):
        assert told(error, catalogue("de")) == said
        with pytest.raises(typer.Exit), plain_errors("de"):
            raise error
        assert capsys.readouterr().err.strip() == said


def test_an_unknown_language_is_told_and_ends_nothing_else(
    capsys: pytest.CaptureFixture[str],
) -> None:
    with pytest.raises(typer.Exit), plain_errors("xx"):
        raise EngineUnavailable(RunReason.LEFT_OUT_BY_HAND())
    assert "left out by hand" in capsys.readouterr().err


def test_what_nobody_foresaw_keeps_its_traceback() -> None:
    with pytest.raises(ZeroDivisionError), plain_errors():
        raise ZeroDivisionError
