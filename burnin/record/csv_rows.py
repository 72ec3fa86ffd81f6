"""Lines of a CSV file, some of which a power cut may have torn.

A line counts only when it is whole: it ends in a line break and has as many cells as the header.
The writer puts no line break inside a cell, so that each line stands alone and a torn one costs no
other. What is torn is said, never guessed at (a torn ``9`` may have been ``92``).
"""

from __future__ import annotations

import csv
from collections.abc import Iterator

MOST_TORN = 10_000
"""After so many lines that are not whole no further one is read: no cut left them, and whoever
made them up shall not make the tool read for minutes."""
_BREAKS = b"\r\n"
_PART_BYTES = 1 << 16


def header(raw: bytes) -> tuple[str, ...]:
    """Names of the columns; empty where the first line is not whole."""
    end = raw.find(b"\n")
    return tuple(_cells(raw[:end].removeprefix(b"\xef\xbb\xbf")) or ()) if end >= 0 else ()


def rows(raw: bytes) -> Iterator[tuple[int, dict[str, str] | None]]:
    """Every line after the header: its number in the file and its cells that are not empty.

    None stands for a line that is not whole. Blank lines are passed over.
    """
    names, torn = header(raw), 0
    for number, line, ended in _lines(raw):
        cells = _cells(line) if ended else None
        if cells is not None and len(cells) == len(names):
            yield number, {name: cell for name, cell in zip(names, cells, strict=True) if cell}
            continue
        yield number, None
        torn += 1
        if torn >= MOST_TORN:
            return


def whole_cells(raw: bytes) -> Iterator[list[str]]:
    """Cells of every whole line after the header, in the header's order, the empty ones too."""
    columns, torn = len(header(raw)), 0
    for _, line, ended in _lines(raw):
        plain = ended and b'"' not in line and b"\0" not in line and b"\r" not in line
        try:
            # A table of some 100,000 lines of numbers: quotes are rare, and splitting is quick.
            cells = line.decode("utf-8").split(",") if plain else _cells(line) if ended else None
        except UnicodeDecodeError:
            cells = None
        if cells is not None and len(cells) == columns:
            yield cells
            continue
        torn += 1
        if torn >= MOST_TORN:
            return


def whole_lines(raw: bytes) -> Iterator[tuple[int, bytes]]:
    """Every whole line after the header as it stands in the file: its number, its bytes."""
    columns, torn = len(header(raw)), 0
    for number, line, ended in _lines(raw):
        cells = _cells(line) if ended else None
        if cells is not None and len(cells) == columns:
            yield number, line
            continue
        torn += 1
        if torn >= MOST_TORN:
            return


def _lines(raw: bytes) -> Iterator[tuple[int, bytes, bool]]:
    """Every line after the header that is not blank: number, bytes, whether it ends in a break.

    One after the other, so that a large file is never in memory twice.
    """
    at = raw.find(b"\n") + 1
    number = 2
    if not at:
        return
    while at < len(raw):
        blank_to = raw.rfind(b"\n", at, _after_breaks(raw, at)) + 1
        if blank_to:
            number += raw.count(b"\n", at, blank_to)
            at = blank_to
            continue
        end = raw.find(b"\n", at)
        if end < 0:
            yield number, raw[at:], False
            return
        yield number, raw[at:end], True
        at, number = end + 1, number + 1


def _after_breaks(raw: bytes, at: int) -> int:
    """Where the line breaks that begin at `at` end."""
    while at < len(raw) and raw[at] in _BREAKS:
        part = raw[at : at + _PART_BYTES]
        # Told by a table first: several times as fast as stripping a part that is nothing else.
        at += len(part)
        if part.translate(None, _BREAKS):
            return at - len(part.lstrip(_BREAKS))
    return at


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
