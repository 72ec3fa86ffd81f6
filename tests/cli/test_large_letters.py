"""The last word of a run, large: in every language, as wide as it must be, never garbled."""

from __future__ import annotations

import pytest

from burnin.cli.terminal.large_letters import large_letters
from burnin.cli.terms import LargeWord
from burnin.report.languages.catalogue import catalogue, language_names


@pytest.mark.parametrize("language", language_names())
def test_every_word_can_be_drawn_within_a_usual_terminal(language: str) -> None:
    words = catalogue(language)
    for term in LargeWord:
        drawn = large_letters(words.say(term()), 80)
        assert len(drawn) >= 4
        assert all(len(row) <= 80 for row in drawn)


def test_letters_are_told_apart() -> None:
    letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÜ"
    assert len({tuple(large_letters(letter, 80)) for letter in letters}) == len(letters)


@pytest.mark.parametrize(
    ("word", "width", "encoding"),
    [("CONDITIONAL", 40, "utf-8"), ("PASS", 80, "ascii"), ("合格", 80, "utf-8")],
)
def test_where_it_cannot_be_drawn_it_is_written(word: str, width: int, encoding: str) -> None:
    assert large_letters(word, width, encoding) == [word]
