"""Every code of the rooms card and engine has words, with places for its own data alone."""

from __future__ import annotations

import importlib
import pkgutil
import string
from collections.abc import Iterator

import pytest

import burnin.card
import burnin.engine
from burnin.core.meaning import Code
from burnin.core.sample import Slowdown
from burnin.engine.device.meanings import FaultClass
from burnin.report.languages.catalogue import catalogue


def codes() -> Iterator[Code]:
    for room in (burnin.card, burnin.engine):
        for found in pkgutil.walk_packages(room.__path__, f"{room.__name__}."):
            if found.name == "burnin.engine.process.worker":
                continue  # it is a program of its own; it has no codes
            module = importlib.import_module(found.name)
            for kind in vars(module).values():
                if isinstance(kind, type) and issubclass(kind, Code):
                    yield from (code for code in kind if kind.__module__ == module.__name__)


CODES = {str(code.value): code for code in codes()}


def test_codes_are_found_and_none_stands_twice() -> None:
    assert len(CODES) > 200
    assert len(CODES) == len(list(codes()))


@pytest.mark.parametrize("language", ["en", "de"])
def test_each_has_words_that_use_its_data(language: str) -> None:
    words = catalogue(language)
    for value, code in CODES.items():
        assert words.knows(value), value
        places = {name for _, name, _, _ in string.Formatter().parse(words.template(value)) if name}
        assert places == set(code.fields), value


@pytest.mark.parametrize("name", [*Slowdown, *FaultClass])
def test_names_of_slowdowns_and_faults_are_in_both_languages(name: str) -> None:
    assert catalogue("en").word(str(name)) == str(name)
    assert catalogue("de").word(str(name)) != str(name)
