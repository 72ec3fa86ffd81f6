"""A language that sheets and screens may be in: the seam `languages`, and who is in it."""

from __future__ import annotations

from dataclasses import dataclass
from importlib.resources.abc import Traversable

from burnin.core import seams
from burnin.core.errors import BadInput


@dataclass(frozen=True)
class Language:
    """A language: its code (ISO 639, such as ``en``), its own name, the folder of its words.

    The folder holds files ``<room>.<code>.toml``, as `burnin.report.languages.catalogue` describes
    them. A package registers it in the entry-point group ``burnin.languages``, under its code.
    """

    code: str
    name: str
    folder: Traversable


def language_names() -> tuple[str, ...]:
    """Codes of all languages that are registered, sorted."""
    return seams.names("languages")


def language(code: str) -> Language:
    """A language by its code; raises BadInput where there is none."""
    found = seams.member("languages", code)
    if not isinstance(found, Language):
        raise BadInput(f"language {code!r} is registered as {type(found).__name__}, not Language")
    return found
