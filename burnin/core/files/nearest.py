"""The name that was most likely meant, where one was typed that is none."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

_ALIKE = 0.5
"""Least likeness of two names, 0 to 1 (`difflib.SequenceMatcher.ratio`)."""


def nearest(typed: str, known: Iterable[str]) -> str:
    """The name most like the one typed, capitals or not; empty where none is like it."""
    names = {name.lower(): name for name in known}
    found = difflib.get_close_matches(typed[:100].lower(), list(names), 1, _ALIKE)
    return names[found[0]] if found else ""
