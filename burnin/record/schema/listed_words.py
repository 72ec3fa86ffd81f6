"""Lines of failing_words.csv as plain cells: there may be hundreds of thousands of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from operator import itemgetter
from typing import NamedTuple

from burnin.record import csv_rows


class ListedWord(NamedTuple):
    """A failing word as its line has it; meanings as in `FailingWordRow`, empty: no such cell."""

    address_bytes: str
    expected: str
    got: str
    pattern: str
    step: str
    pass_: str


def listed_words(raw: bytes | None, needed: Sequence[str]) -> tuple[ListedWord, ...]:
    """Every whole line, in order; none where there is no file or it lacks a `needed` column."""
    return () if raw is None else tuple(_words(raw, needed))


def _words(raw: bytes, needed: Sequence[str]) -> Iterator[ListedWord]:
    names = csv_rows.header(raw)
    if len(set(names)) != len(names) or not set(needed) <= set(names):
        return
    wanted = (field.removesuffix("_") for field in ListedWord._fields)
    take = itemgetter(*(names.index(name) if name in names else -1 for name in wanted))
    for cells in csv_rows.whole_cells(raw):
        cells.append("")  # of a column that is not there
        yield ListedWord._make(take(cells))
