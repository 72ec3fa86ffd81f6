"""Lines of a CSV file, some of which a power cut may have torn.

A line counts only when it is whole: it ends in a line break and has as many cells as the header.
The writer puts no line break inside a cell, so that each line stands alone and a torn one costs no
other. What is torn is said, never guessed at (a torn ``9`` may have been ``92``).
"""

from __future__ import annotations

import csv
from collections.abc import Iterator


def header(raw: bytes) -> tuple[str, ...]:
    """Names of the columns; empty where the first line is not whole."""
    first, ending, _ = raw.partition(b"\n")
    return tuple(_cells(first.removeprefix(b"\xef\xbb\xbf")) or ()) if ending else ()


def rows(raw: bytes) -> Iterator[tuple[int, dict[str, str] | None]]:
    """Every line after the header: its number in the file and its cells that are not empty.

    None stands for a line that is not whole. Blank lines are passed over.
    """
    names = header(raw)
    *whole, rest = raw.split(b"\n")
    for number, line in enumerate(whole[1:], start=2):
        if not line.strip(b"\r"):
            continue
        cells = _cells(line)
        if cells is None or len(cells) != len(names):
            yield number, None
            continue
        yield number, {name: cell for name, cell in zip(names, cells, strict=True) if cell}
    if rest and whole:
        yield len(whole) + 1, None


def whole_lines(raw: bytes) -> Iterator[tuple[int, bytes]]:
    """Every whole line after the header as it stands in the file: its number, its bytes."""
    columns = len(header(raw))
    *whole, _ = raw.split(b"\n")
    for number, line in enumerate(whole[1:], start=2):
        cells = _cells(line) if line.strip(b"\r") else None
        if cells is not None and len(cells) == columns:
            yield number, line


def _cells(line: bytes) -> list[str] | None:
    """A line's cells, None where it is torn.

    Zero bytes fill the place of what the file system had not yet written when the power went.
    """
    if b"\0" in line:
        return None
    try:
        return next(csv.reader([line.removesuffix(b"\r").decode("utf-8")], strict=True), None)
    except (csv.Error, UnicodeDecodeError):
        return None
