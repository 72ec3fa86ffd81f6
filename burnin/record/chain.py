"""The chain over a record's rows: each row's check covers the row and all that came before it.

The check is the first 16 hexadecimal digits of the SHA-256 of the check before and the row's other
cells as they stand in the file; the first row follows on the table's name and its header. A row
that a power cut tore is no part of the chain. The journal holds the head of every table (how many
rows, and the check of the last) with each start and end of a stage and of the run, so that a table
whose checks were all made anew is seen too. `record_head` is the head of all; who keeps it
elsewhere sees a record whose journal was made anew.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from burnin.core.files.bounded import read_at_most
from burnin.core.meaning import Reason
from burnin.record import csv_rows
from burnin.record.reasons import RecordReason
from burnin.record.schema.most_bytes import most_bytes_of
from burnin.record.schema.tables import CHAIN, FAILING_WORDS, JOURNAL, NOT_READ, READINGS, SAMPLES

HEADS = "heads"
"""Key of a journal line's detail under which the heads of all other tables lie."""
HEADED = ("RunStarted", "StageStarted", "StageFinished", "RunFinished")
"""Events whose line in the journal carries the heads."""
WITH_CHAIN = (READINGS, SAMPLES, NOT_READ, JOURNAL)
"""Tables whose rows carry their check; rows of the others are chained as they are read."""
UNDER_HEADS = (READINGS, SAMPLES, NOT_READ, FAILING_WORDS)

_DIGITS = 16


@dataclass(frozen=True)
class Head:
    """How many rows a table has, and the check of the last; of no rows, that of the header."""

    rows: int
    check: str

    def after(self, body: bytes) -> Head:
        """The head when a row was added whose cells but the check are `body`."""
        return Head(self.rows + 1, _check(self.check, body))

    def as_plain(self) -> dict[str, object]:
        """As it stands in the journal."""
        return {"rows": self.rows, "chain": self.check}


@dataclass(frozen=True)
class Chained:
    """A table's chain as it lies on disk: the check after each row, and where it breaks.

    `checks[n]` is the check after `n` rows. `broken_line`: number of the first line in the file
    that does not follow from those before it, None where all do.
    """

    checks: tuple[str, ...]
    broken_line: int | None = None

    @property
    def head(self) -> Head:
        """The head after the last row."""
        return Head(len(self.checks) - 1, self.checks[-1])


def beginning(table: str, columns: Iterable[str]) -> Head:
    """The head of a table that has no rows."""
    return Head(0, _check(table, ",".join(columns).encode()))


def has_chain(raw: bytes | None) -> bool:
    """Whether the rows of a table's file carry checks."""
    return raw is not None and csv_rows.header(raw)[-1:] == (CHAIN,)


def chain_of(table: str, raw: bytes | None) -> Chained:
    """The chain of a table's file; of one that is missing, that of no rows."""
    names = csv_rows.header(raw or b"")
    if raw is None or not names:
        return Chained(("",))
    head, broken = beginning(table, names), None
    checks = [head.check]
    in_rows = names[-1] == CHAIN
    for number, line in csv_rows.whole_lines(raw):
        if in_rows:
            body, _, told = line.rpartition(b",")
            head = head.after(body)
            if told.decode("ascii", "replace") != head.check:
                broken = broken or number
                head = Head(head.rows, told.decode("ascii", "replace"))
        else:
            head = head.after(line)
        checks.append(head.check)
    return Chained(tuple(checks), broken)


def broken(table: str, chain: Chained) -> tuple[Reason, ...]:
    """That a row was changed, added or taken out, and from which line on."""
    if chain.broken_line is None:
        return ()
    return (RecordReason.CHAIN_BROKEN(file=table, line=chain.broken_line),)


def against_heads(
    tables: Mapping[str, Chained], heads: Iterable[Mapping[str, object]], *, closed: bool
) -> tuple[Reason, ...]:
    """Tables that are not as the journal's heads say, each once, from which row on.

    `heads` in the order of the journal. `closed`: nothing may follow on the last of them.
    """
    found: dict[str, Reason] = {}
    good = dict.fromkeys(tables, 0)
    last: dict[str, int] = {}
    for told in heads:
        for table, chain in tables.items():
            head = _head(told.get(table))
            if head is None or table in found:
                continue
            there = len(chain.checks) - 1
            last[table] = head.rows
            if head.rows > there:
                gone = head.rows - there
                found[table] = RecordReason.ROWS_GONE(file=table, rows_count=gone)
            elif head.rows and chain.checks[head.rows] != head.check:
                found[table] = RecordReason.ROWS_CHANGED(
                    file=table, from_row=good[table] + 1, to_row=head.rows
                )
            good[table] = head.rows
    for table, rows in last.items():
        more = len(tables[table].checks) - 1 - rows
        if closed and more > 0 and table not in found:
            found[table] = RecordReason.ROWS_ADDED(file=table, rows_count=more)
    return tuple(found.values())


def record_head(folder: Path) -> str:
    """Head of a whole record: the check of its journal's last line; empty where there is none.

    The journal's last head covers every other table, its openings and ends cover run.json. Kept
    elsewhere (a ticket's log), it tells a record whose every check was made anew.
    """
    try:
        raw = read_at_most(folder / JOURNAL, most_bytes_of(JOURNAL))
    except OSError:
        return ""
    return chain_of(JOURNAL, raw).head.check if has_chain(raw) else ""


def _check(before: str, body: bytes) -> str:
    return hashlib.sha256(before.encode("utf-8", "replace") + b"\n" + body).hexdigest()[:_DIGITS]


def _head(told: object) -> Head | None:
    if not isinstance(told, Mapping):
        return None
    rows, check = told.get("rows"), told.get("chain")
    if not isinstance(rows, int) or isinstance(rows, bool) or rows < 0:
        return None
    return Head(rows, check) if isinstance(check, str) else None
