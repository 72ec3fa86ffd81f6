"""Rows of a CSV file whose lines may be torn by a power cut.

A line counts only when it is whole: it ends in a line break and has as many fields as the header.
The writer puts no line break inside a field, so that each line stands alone and a torn one costs
no other. What is left out is said, never guessed at (a torn ``9`` may have been ``92``).
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Rows:
    """Whole rows by column name.

    `flaws` says what was left out (empty: nothing). `cut_short`: the file is missing, empty, or
    torn at its end, so that what came last is unknown; a line torn further up was written before a
    run was resumed.
    """

    rows: tuple[dict[str, str], ...]
    flaws: tuple[str, ...] = ()
    cut_short: bool = False


def read_rows(path: Path) -> Rows:
    """Every whole row of `path`; a missing or unreadable file gives none and says so."""
    try:
        raw = path.read_bytes()
    except FileNotFoundError:
        return Rows((), (f"{path.name} is missing",), cut_short=True)
    except OSError as error:
        flaw = f"{path.name} cannot be read: {error.strerror or error}"
        return Rows((), (flaw,), cut_short=True)
    return parse_rows(raw, path.name)


def parse_rows(raw: bytes, name: str) -> Rows:
    """Every whole row of the bytes `raw` of the file called `name`."""
    *lines, rest = raw.decode("utf-8-sig", errors="replace").split("\n")
    header = _fields(lines[0]) if lines else None
    if not header:
        return Rows((), (f"{name} holds no whole line",), cut_short=True)
    body = [line for line in lines[1:] if line.strip("\r")]
    parsed = [_fields(line) for line in body]
    whole = [row for row in parsed if row is not None and len(row) == len(header)]
    torn_end = bool(rest) or (bool(parsed) and parsed[-1] not in whole)
    lost = len(body) - len(whole) + int(bool(rest))
    flaws = (f"{name}: {lost} torn line{'s' * (lost != 1)} left out",) if lost else ()
    return Rows(tuple(dict(zip(header, row, strict=True)) for row in whole), flaws, torn_end)


def _fields(line: str) -> list[str] | None:
    """A line's fields, None where it is torn.

    Zero bytes fill the place of what the file system had not yet written when the power went.
    """
    if "\0" in line:
        return None
    try:
        return next(csv.reader([line.removesuffix("\r")], strict=True), None)
    except csv.Error:
        return None
