"""An error of the list: its code, and how real bad input makes it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from burnin.core.meaning import ReasonCode

T = TypeVar("T")


@dataclass(frozen=True)
class Case:
    """`make` is given an empty folder and raises; what it raises tells of `code`."""

    code: ReasonCode
    make: Callable[[Path], object]


def each(
    inputs: Mapping[ReasonCode, T], make: Callable[[Path, T], object]
) -> tuple[Case, ...]:
    """A case for each input that is made in the same way."""

    def one(code: ReasonCode, given: T) -> Case:
        return Case(code, lambda folder: make(folder, given))

    return tuple(one(code, given) for code, given in inputs.items())


def written(folder: Path, name: str, content: str | bytes) -> Path:
    """A file with this content."""
    path = folder / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path
