"""One table of a record as it lies on disk, and what is wrong with it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from burnin.core.files.disk import TORN
from burnin.core.meaning import Reason
from burnin.record import csv_rows
from burnin.record.migrations import needed_columns, row_in_new_format
from burnin.record.reasons import RecordReason
from burnin.record.schema.tables import TABLES

T = TypeVar("T")
_MOST_NAMED = 5

BAD_CELLS = (ValueError, TypeError, KeyError, OverflowError, RecursionError)
"""What a conversion of a line may raise where the line is none of its table."""


@dataclass(frozen=True)
class Flaws:
    """What is wrong with a table; `cut_short`: what came last is unknown."""

    missing: tuple[Reason, ...] = ()
    torn: tuple[Reason, ...] = ()
    damaged: tuple[Reason, ...] = ()
    foreign: tuple[Reason, ...] = ()
    cut_short: bool = False


@dataclass(frozen=True)
class TableFile(Generic[T]):
    """A table: its bytes (None: missing), how a line is read, columns that it cannot do without.

    `convert` makes a line's cells into what is asked for; it raises one of BAD_CELLS where they
    are none of this table.
    """

    name: str
    raw: bytes | None
    needed: tuple[str, ...]
    convert: Callable[[int, dict[str, str]], T]
    may_be_missing: bool = False

    def rows(self) -> Iterator[tuple[int, T | None]]:
        """Number and content of every line; None for one that is torn or damaged."""
        if self.raw is None or self._strange_columns() is not None:
            return
        for number, cells in csv_rows.rows(self.raw):
            if cells is None:
                yield number, None
                continue
            try:
                yield number, self.convert(number, cells)
            except BAD_CELLS:
                yield number, None

    def whole(self) -> Iterator[T]:
        """Every line that can be read, in order."""
        return (row for _, row in self.rows() if row is not None)

    def flaws(self, resumed: int) -> Flaws:
        """What is wrong.

        A torn line that bears the mark of a run that went on is no damage, nor are as many without
        one as the run was `resumed` (an older version set none).
        """
        if self.raw is None:
            if self.may_be_missing:
                return Flaws()
            return Flaws(missing=(RecordReason.FILE_MISSING(file=self.name),), cut_short=True)
        strange = self._strange_columns()
        if strange is not None:
            return Flaws(foreign=(strange,), cut_short=True)
        if not csv_rows.header(self.raw):
            return Flaws(torn=(RecordReason.NO_WHOLE_LINE(file=self.name),), cut_short=True)
        last, bad = 0, []
        for number, row in self.rows():
            last = number
            if row is None:
                bad.append(number)
        torn = []
        at_end = bool(bad) and bad[-1] == last
        if at_end:
            torn.append(RecordReason.END_TORN(file=self.name, lines=(bad.pop(),)))
        marked = self._ended_when_gone_on()
        cut = [number for number in bad if number in marked]
        bad = [number for number in bad if number not in marked]
        earlier, damaged = sorted([*cut, *bad[:resumed]]), bad[resumed:]
        if earlier:
            torn.insert(0, _several(RecordReason.TORN_BEFORE_RESUME, self.name, earlier))
        return Flaws(
            torn=tuple(torn),
            damaged=(_several(RecordReason.LINES_DAMAGED, self.name, damaged),) if damaged else (),
            cut_short=at_end,
        )

    def _ended_when_gone_on(self) -> frozenset[int]:
        """Numbers of the lines that a run which went on found torn, and ended."""
        raw, found, number, at = self.raw or b"", set(), 1, 0
        while (end := raw.find(TORN + b"\n", at)) >= 0:  # never all lines in memory at once
            number, at = number + raw.count(b"\n", at, end), end
            found.add(number)
            number, at = number + 1, end + len(TORN) + 1
        if raw.endswith(TORN):
            found.add(number + raw.count(b"\n", at))
        return frozenset(found)

    def _strange_columns(self) -> Reason | None:
        """That these are not the columns of this table; None where they are, or none is whole."""
        names = csv_rows.header(self.raw or b"")
        if not names:
            return None
        lacking = tuple(name for name in self.needed if name not in names)
        twice = tuple(dict.fromkeys(name for name in names if names.count(name) > 1))
        if not lacking and not twice:
            return None
        return RecordReason.OTHER_COLUMNS(file=self.name, columns=(*lacking, *twice))


def _several(code: RecordReason, name: str, lines: list[int]) -> Reason:
    return code(file=name, lines_count=len(lines), lines=tuple(lines[:_MOST_NAMED]))


def typed_table(
    name: str,
    raw: bytes | None,
    format_read: int,
    read: Callable[[Any], T],
    untyped: list[str],
    *,
    may_be_missing: bool = False,
) -> TableFile[T]:
    """The table `name` of a record in `format_read`; `read` gets the model of each line.

    `untyped` takes the places whose meaning the format held in words only.
    """
    model, folder = TABLES[name], f"{name} line"

    def convert(number: int, cells: dict[str, str]) -> T:
        fresh = row_in_new_format(name, cells, format_read, f"{folder} {number}", untyped)
        return read(model.model_validate(fresh))

    return TableFile(name, raw, needed_columns(name, format_read), convert, may_be_missing)
