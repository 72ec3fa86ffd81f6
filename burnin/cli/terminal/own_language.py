"""The language in which commands show things where none is asked for: that of the surroundings."""

from __future__ import annotations

import os
from typing import Any

_NAMES = ("LC_ALL", "LC_MESSAGES", "LANG")
"""The first that is set counts (POSIX.1-2017, Base Definitions, 8.2)."""
ORIGINAL = "en"


def own_language() -> str:
    """Code of a language that there is; `ORIGINAL` where the surroundings name none of them."""
    code = next((os.environ[n] for n in _NAMES if os.environ.get(n)), "")[:2].lower()
    if not code.isalpha() or code == ORIGINAL:
        return ORIGINAL
    from burnin.core import seams

    return code if code in seams.names("languages") else ORIGINAL


def shown_in(command: Any, code: str) -> dict[str, object]:  # a command of click, or of typer
    """Defaults by command and option: the language wherever one is shown in the original else."""
    found: dict[str, object] = {
        option.name: code
        for option in command.params
        if option.name == "language" and option.default == ORIGINAL
    }
    for name, below in getattr(command, "commands", {}).items():
        inside = shown_in(below, code)
        if inside:
            found[name] = inside
    return found
