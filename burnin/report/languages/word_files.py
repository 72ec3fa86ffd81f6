"""Word files of a language: where they lie, and what tables are in them."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from importlib.resources.abc import Traversable
from typing import Any

from burnin.core import seams
from burnin.core.errors import BadInput
from burnin.core.files.bounded import TEXT_BYTES
from burnin.report.languages.language import language
from burnin.report.languages.word_check import check_words

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

Tables = dict[str, dict[str, Any]]


def words_of(code: str) -> Tables:
    """All words of a language table by table; where it lacks one, the original stands in.

    Raises BadInput where there is no such language, or where a file of it cannot be used.
    """
    tables: Tables = {name: {} for name in (*TABLES, *GROUPS)}
    for file in (*word_files(ORIGINAL), *(word_files(code) if code != ORIGINAL else ())):
        take_file(tables, file)
    return tables


def take_file(tables: Tables, file: Traversable) -> Mapping[str, Any]:
    """Put the words of a file into `tables`, over those that are there; gives what it held.

    Raises BadInput, with file, table and word, where it is no word file.
    """
    content = _content(file)
    check_words(str(file), content, tables)
    for name, table in tables.items():
        table.update(content.get(name, {}))
    return content


def _content(file: Traversable) -> dict[str, Any]:
    try:
        with file.open("rb") as stream:
            raw = stream.read(TEXT_BYTES + 1)
        if len(raw) > TEXT_BYTES:
            raise BadInput(f"{file}: a word file has at most {TEXT_BYTES:,} bytes")
        return tomllib.loads(raw.decode("utf-8"))
    except OSError as error:
        raise BadInput(f"{file}: cannot be read: {error.strerror or error}") from error
    except (ValueError, RecursionError) as error:
        raise BadInput(f"{file}: is not valid TOML: {error}") from error


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
