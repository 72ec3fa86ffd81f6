"""Rows of a CSV file whose last line may be torn by a power cut.

A line counts only when it is whole: it ends in a line break and has as many fields as the header.
What is left out is said, never guessed at (a torn ``9`` may have been ``92``).
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Rows:
    """Whole rows by column name, and what was left out, in words (empty: nothing)."""

    rows: tuple[dict[str, str], ...]
    flaws: tuple[str, ...] = ()


def read_rows(path: Path) -> Rows:
    """Every whole row of `path`; a missing or unreadable file gives none and says so."""
    try:
        raw = path.read_bytes()
    except FileNotFoundError:
        return Rows((), (f"{path.name} is missing",))
    except OSError as error:
        return Rows((), (f"{path.name} cannot be read: {error.strerror or error}",))
    return parse_rows(raw, path.name)


def parse_rows(raw: bytes, name: str) -> Rows:
    """Every whole row of the bytes `raw` of the file called `name`."""
    text = raw.decode("utf-8-sig", errors="replace")
    whole_text = text[: text.rfind("\n") + 1]
    torn = len(whole_text) < len(text)
    parsed, refused = _parse(whole_text)
    if not parsed:
        return Rows((), (f"{name} holds no whole line",))
    header, body = parsed[0], parsed[1:]
    # A power cut may leave a block of zero bytes where the file system had not yet written.
    whole = [row for row in body if len(row) == len(header) and "\0" not in "".join(row)]
    # A line torn within quotes is refused by the grammar as well: it counts once.
    lost = len(body) - len(whole) + max(refused, int(torn))
    flaws = (f"{name}: {lost} torn or damaged line{'s' * (lost != 1)} left out",) if lost else ()
    return Rows(tuple(dict(zip(header, row, strict=True)) for row in whole), flaws)


def _parse(text: str) -> tuple[list[list[str]], int]:
    """Rows that the CSV grammar accepts, and how many times it refused."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    rows: list[list[str]] = []
    refused = 0
    while True:
        try:
            row = next(reader)
        except StopIteration:
            return rows, refused
        except csv.Error:
            refused += 1
            continue
        if row:
            rows.append(row)
