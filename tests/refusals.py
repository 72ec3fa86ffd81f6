"""Errors as a person reads them: `raises` as pytest has it, over the words of a catalogue."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TypeVar

import pytest

from burnin.cli.exit import told
from burnin.core.errors import BurninError
from burnin.report.languages.catalogue import catalogue

E = TypeVar("E", bound=BurninError)


@contextmanager
def refused(
    kind: type[E], match: str | re.Pattern[str] = "", language: str = "en"
) -> Iterator[pytest.ExceptionInfo[E]]:
    """Raises an error of this kind whose words, in a language, hold what is looked for."""
    with pytest.raises(kind) as caught:
        yield caught
    words = told(caught.value, catalogue(language))
    assert re.search(match, words), f"{match!r} is not in {words!r}"


def words_of(error: BaseException, language: str = "en") -> str:
    """An error as a person reads it."""
    assert isinstance(error, BurninError)
    return told(error, catalogue(language))
