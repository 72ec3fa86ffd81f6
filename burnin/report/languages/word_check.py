"""Whether a word file holds words that sheets and screens can be made of, told with its place.

A faulty word would be met long after, in the midst of a sheet; so it is refused where it is read.
"""

from __future__ import annotations

import re
import string
from collections.abc import Iterator, Mapping
from typing import Any

from burnin.core.errors import BadInput

FILLED = "says"
"""The table whose sentences have places for data, any that the code names."""
BARE = ("readings", "words", "units")
"""Tables of plain names, in which a brace is a brace."""
SHOWED = "showed"
"""Lines with places of their own kind (`burnin.report.ticket.showed`)."""
FORMAT, DAY = "format", "day"
_DAY_PLACES = frozenset(("day", "month", "year"))
_SPEC = re.compile(r"[±\w.,;%+\-# ]{0,24}")
_WIDE = re.compile(r"\d{3,}")
"""A number of this many digits in a format would fill the memory with blanks."""
_PARSER = string.Formatter()


def check_words(file: str, content: Mapping[str, Any], known: Mapping[str, Any]) -> None:
    """Raise BadInput for the first word that cannot be used.

    `known`: tables that are used, with the words that were read before; a word that takes the place
    of one of these is of its kind, and a label has no other places than that.
    """
    for table, words in content.items():
        if table not in known:
            continue  # a newer tool's; nothing asks for it
        if not isinstance(words, Mapping):
            raise BadInput(f"{file}: [{table}]: must be a table of words")
        for name, word in words.items():
            fault = _fault(table, name, word, known[table].get(name))
            if fault:
                raise BadInput(f"{file}: [{table}] {name[:60]}: {fault}")


def _fault(table: str, name: str, word: object, before: object) -> str:
    """What is wrong with a word, empty where nothing is."""
    if isinstance(before, list | str) and type(word) is not type(before):
        return f"must be {'text' if isinstance(before, str) else 'a list of texts'}"
    if isinstance(word, list) and table not in (FILLED, *BARE):
        if not all(isinstance(part, str) for part in word):
            return "must be a list of texts"
        fixed = isinstance(before, list) and table != SHOWED
        if fixed and isinstance(before, list) and len(word) != len(before):
            return f"must have {len(before)} texts, has {len(word)}"
        return ""
    if not isinstance(word, str):
        return "must be text"
    if table in BARE:
        return ""
    return _fault_of_places(table, name, word, before)


def _fault_of_places(table: str, name: str, word: str, before: object) -> str:
    try:
        places = tuple(_PARSER.parse(word))
    except ValueError as error:
        return f"its places cannot be read: {error}"
    for _, place, spec, turned in places:
        if place is None:
            continue
        if turned or (spec and (not _SPEC.fullmatch(spec) or _WIDE.search(spec))):
            return f"no such way to write a value: {{{place[:40]}:{(spec or turned or '')[:40]}}}"
    if table == FILLED:
        return ""
    allowed = _DAY_PLACES if (table, name) == (FORMAT, DAY) else frozenset(_names(before))
    strange = sorted(set(_names(word)) - allowed)
    if strange and (isinstance(before, str) or (table, name) == (FORMAT, DAY)):
        there = ", ".join(sorted(allowed)) or "none"
        return f"has no place {strange[0][:40]!r}; places are: {there}"
    return ""


def _names(word: object) -> Iterator[str]:
    if isinstance(word, str):
        yield from (place for _, place, _, _ in _PARSER.parse(word) if place is not None)
