"""Word files of a language: where they lie, and what tables are in them."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from importlib.resources.abc import Traversable
from typing import Any

from burnin.core import seams
from burnin.core.errors import BadInput
from burnin.report.languages.language import language

TABLES = ("says", "readings", "words", "units", "showed", "format")
GROUPS = (
    "sheet",
    "outcomes",
    "marks",
    "people",
    "cautions",
    "plots",
    "curves",
    "customer",
    "customer_outcomes",
    "customer_marks",
    "customer_cautions",
    "seen",
    "advice",
    "cooling",
    "drawing",
    "internal",
    "intake",
)
"""Groups of labels: lists of words by key, for the sheets' own use."""
SEAMS = ("stages", "guards", "sources", "engines")
"""Seams whose members may bring words: an attribute `words`, the folder of their files."""
ORIGINAL = "en"
"""The language that our own words are written in first; it stands in where another has none."""


def words_of(code: str) -> dict[str, dict[str, Any]]:
    """All words of a language table by table; where it lacks one, the original stands in.

    Raises BadInput where there is no such language.
    """
    tables: dict[str, dict[str, Any]] = {name: {} for name in (*TABLES, *GROUPS)}
    for file in (*word_files(ORIGINAL), *(word_files(code) if code != ORIGINAL else ())):
        content: dict[str, Any] = tomllib.loads(file.read_text(encoding="utf-8"))
        for name in tables:
            tables[name].update(content.get(name, {}))
    return tables


def word_files(code: str) -> list[Traversable]:
    """Every file that holds words of a language; raises BadInput where there is no such language.

    A stage, guard, sensor source or engine of a shop's own brings its words in the languages that
    it has; ours, but for stages, have theirs with the language.
    """
    ending = f".{code}.toml"
    found = [
        file
        for folder in (language(code).folder, *_folders_of_members())
        for file in sorted(folder.iterdir(), key=lambda f: f.name)
        if file.name.endswith(ending)
    ]
    return list(dict.fromkeys(found))


def _folders_of_members() -> Iterator[Traversable]:
    for seam in SEAMS:
        for name in seams.names(seam):
            try:
                words = getattr(seams.member(seam, name), "words", None)
            except BadInput:
                # Whoever needs this member tells that it cannot be loaded: in words, so they stay.
                continue
            if words is not None:
                yield words
