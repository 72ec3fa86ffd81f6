"""The customer's sheet in several languages: one TOML file each, all with the same keys."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

LANGUAGES = ("en", "de")


@cache
def words_of(language: str) -> Mapping[str, Any]:
    """The words of a language; raises KeyError for one that there is none of."""
    if language not in LANGUAGES:
        raise KeyError(language)
    path = Path(__file__).with_name(f"{language}.toml")
    return tomllib.loads(path.read_text(encoding="utf-8"))
