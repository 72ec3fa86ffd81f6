"""An error of the list: its code, and how real bad input makes it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from burnin.core.meaning import ReasonCode


@dataclass(frozen=True)
class Case:
    """`make` is given an empty folder and raises; what it raises tells of `code`."""

    code: ReasonCode
    make: Callable[[Path], object]


def written(folder: Path, name: str, content: str | bytes) -> Path:
    """A file with this content."""
    path = folder / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path
