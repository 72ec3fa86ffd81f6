"""A prompt as a block that stands out: question, what is good, what comes of saying nothing.

Plain lines in the order in which they are read, so that a screen reader tells them as they stand;
bold and dim are added where the output is a terminal, and nothing is said by colour or place alone.
"""

from __future__ import annotations

import os
import shutil
import sys
import textwrap
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from burnin.cli.terms import ScreenTerm
from burnin.core.answers.form import Form, form_of
from burnin.core.answers.meanings import WithoutTerm
from burnin.core.meaning import Meaning
from burnin.report.languages.one_line import one_line
from burnin.stages.meanings import StagesPrompt

Say = Callable[[Meaning], str]
_MARK, _PLAIN_MARK = "◆ ", "* "
_INDENT = "  "
_NARROWEST = 24
_MOST_CHARACTERS = 500
_BOLD, _DIM, _OFF = "\x1b[1m", "\x1b[2m", "\x1b[0m"
BELL = "\a"


@dataclass(frozen=True)
class Look:
    """How wide the output is, whether it is a terminal, and the mark that it can write."""

    columns: int = 80
    styled: bool = False
    mark: str = _MARK


def look_of_output() -> Look:
    """How standard output looks now."""
    columns = shutil.get_terminal_size((80, 24)).columns
    styled = sys.stdout.isatty() and os.environ.get("TERM", "") != "dumb"
    # Lines that change all the while put a proxy in the place of standard output, which has none.
    encodings = (getattr(file, "encoding", None) for file in (sys.stdout, sys.__stdout__))
    try:
        _MARK.encode(next((name for name in encodings if name), "ascii"))
    except (UnicodeEncodeError, LookupError):
        return Look(columns, styled, _PLAIN_MARK)
    return Look(columns, styled)


def prompt_block(prompt: Meaning, say: Say, look: Look, timeout_s: float | None = None) -> str:
    """The block of a prompt, up to the place where its answer is typed.

    `timeout_s`: how long it stands, None where it stands as long as it takes.
    """
    asked = question_of(prompt)
    form = form_of(asked)
    question = one_line(say(asked), _MOST_CHARACTERS)
    if form is not None and form.of_count > 1:
        place = ScreenTerm.PROMPT_OF(number=form.number, of_count=form.of_count)
        question = f"{say(place)}  {question}"
    lines = [*_wrapped(_wrong(prompt, say), look, _INDENT)]
    lines += [_styled(line, _BOLD, look) for line in _wrapped(question, look, look.mark)]
    for hint in _hints(form, say, timeout_s):
        lines += [_styled(line, _DIM, look) for line in _wrapped(hint, look, _INDENT)]
    answer = say(form.answer) if form is not None else say(ScreenTerm.PROMPT_ANSWER())
    return "\n".join([*lines, f"{_INDENT}{answer}: "])


def question_of(prompt: Meaning) -> Meaning:
    """What is asked, without what was wrong with an answer before."""
    asked = dict(prompt.data).get("prompt") if prompt.means(StagesPrompt.AGAIN) else None
    return asked if isinstance(asked, Meaning) else prompt


def _wrong(prompt: Meaning, say: Say) -> str:
    """What was wrong with the last answer; empty where none was."""
    if not prompt.means(StagesPrompt.AGAIN):
        return ""
    words = prompt["words"]
    told = say(words) if isinstance(words, Meaning) else str(words)
    return one_line(told, _MOST_CHARACTERS)


def _hints(form: Form | None, say: Say, timeout_s: float | None) -> Iterator[str]:
    """What is good, where to measure, what comes of silence and of Enter alone; one a line."""
    if form is None:
        if timeout_s is not None:
            yield say(ScreenTerm.PROMPT_WAITS(seconds=timeout_s))
        return
    if form.good is not None:
        yield say(form.good)
    for where in form.where:
        yield say(where)
    ways = [ScreenTerm.PROMPT_ENTER(counts=form.enter)]
    if timeout_s is not None and form.silence == form.enter:
        ways = [ScreenTerm.PROMPT_EITHER(seconds=timeout_s, counts=form.enter)]
    elif timeout_s is not None:
        ways.insert(0, ScreenTerm.PROMPT_SILENCE(seconds=timeout_s, counts=form.silence))
    if form.back and form.number > 1:
        ways.append(ScreenTerm.PROMPT_BACK())
    elif form.back and form.enter.means(WithoutTerm.LATER):
        ways.append(ScreenTerm.PROMPT_SKIP_WHY())  # told once: the first prompt of a round
    yield "; ".join(map(say, ways))


def _wrapped(text: str, look: Look, first: str) -> list[str]:
    if not text:
        return []
    return textwrap.wrap(
        text,
        max(_NARROWEST, look.columns - 1),
        initial_indent=first,
        subsequent_indent=_INDENT,
        break_on_hyphens=False,
    )


def _styled(line: str, style: str, look: Look) -> str:
    return f"{style}{line}{_OFF}" if look.styled else line
