"""One place below the results, looked at: its rows, or why it is kept apart.

Needs no store, so that several processes can look at once.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import pyarrow as pa

from burnin.core.errors import BurninError
from burnin.core.meaning import Reason
from burnin.core.ticket_header import folder_name
from burnin.history.meanings import HistoryReason
from burnin.history.of_record import Cells, rows_of_record, why_apart
from burnin.history.of_ticket import log_sha256, rows_of_ticket
from burnin.history.places import Place, PlaceKind
from burnin.history.pseudonym import Named
from burnin.history.rows import UNFIT, arrow, look_at_cells
from burnin.history.sample_files import write_samples
from burnin.history.tables import IN_DATABASE
from burnin.record.event_log import read_log
from burnin.record.reader import Record, read_record
from burnin.record.schema.folders import RUN_FILE
from burnin.record.schema.tables import SAMPLES
from burnin.ticket.log.refusals import LogRefusal
from burnin.ticket.log.ticket_from_log import LOG, fold

_TABLES = {table.name: table for table in IN_DATABASE}
Made = Mapping[str, list[Cells]]


@dataclass(frozen=True)
class Looking:
    """How places are looked at: `named` says who a customer is, `samples` where samples go."""

    named: Named
    names_kept: bool = False
    samples: Path | None = None


@dataclass(frozen=True)
class LookedAt:
    """What was found; `key` is the hash that it is known by, `thing` the run's key or the number.

    `rows` by table, `samples` a file of samples that waits to be put in its place.
    """

    place: Place
    key: str = ""
    thing: str = ""
    file_sha256: str = ""
    why: Reason | None = None
    rows: Mapping[str, pa.Table] = field(default_factory=dict)
    samples: Path | None = None


def look_at(place: Place, how: Looking) -> LookedAt:
    """Read a place; whatever is wrong with it is told as a reason."""
    return look_at_part([place], how).one_by_one()[0]


@dataclass(frozen=True)
class Part:
    """Places that were looked at together, and their rows in one table each: many times as fast.

    `counts` says of each place how many rows of each table are its own.
    """

    found: list[LookedAt]
    rows: Mapping[str, pa.Table]
    counts: Sequence[Mapping[str, int]]

    def one_by_one(self) -> list[LookedAt]:
        """Each place with its own rows."""
        at = dict.fromkeys(self.rows, 0)
        each = []
        for one, counts in zip(self.found, self.counts, strict=True):
            own = {name: self.rows[name].slice(at[name], n) for name, n in counts.items()}
            for name, n in counts.items():
                at[name] += n
            each.append(replace(one, rows=own))
        return each


def look_at_part(part: Sequence[Place], how: Looking) -> Part:
    """Read places; whatever is wrong with one is told as its reason."""
    found = [_look_at(place, how) for place in part]
    together: dict[str, list[Cells]] = defaultdict(list)
    for _, made in found:
        for name, rows in made.items():
            together[name] += rows
    counts = [{name: len(rows) for name, rows in made.items()} for _, made in found]
    tables = {name: arrow(_TABLES[name], rows) for name, rows in together.items()}
    return Part([one for one, _ in found], tables, counts)


def _look_at(place: Place, how: Looking) -> tuple[LookedAt, Made]:
    try:
        return (_record if place.kind is PlaceKind.RECORD else _ticket)(place, how)
    except BurninError as error:
        return LookedAt(place, why=HistoryReason.UNREADABLE(words=error.told)), {}
    except UNFIT as error:
        return LookedAt(place, why=HistoryReason.DOES_NOT_FIT(words=str(error)[:200])), {}


def _record(place: Place, how: Looking) -> tuple[LookedAt, Made]:
    record = read_record(place.folder)
    key, sum_ = record.data_sha256, record.sha256(RUN_FILE)
    why = why_apart(record)
    if why is not None:
        return LookedAt(place, key, key, sum_, why), {}
    made = _fitting(rows_of_record(record, place.name, how.named).rows)
    samples = _samples(record, key, place, how.samples) if how.samples is not None else None
    return LookedAt(place, key, key, sum_, samples=samples), made


def _samples(record: Record, key: str, place: Place, folder: Path) -> Path:
    file = f"{place.name}/{SAMPLES}"
    return write_samples(folder, key, record.rows(SAMPLES), file, record.sha256(SAMPLES))


def _ticket(place: Place, how: Looking) -> tuple[LookedAt, Made]:
    path = place.folder / LOG
    log, sum_ = read_log(path), log_sha256(path)
    ticket = fold(place.folder, log)
    if ticket is None or log.flaws:
        return LookedAt(place, sum_, "", sum_, HistoryReason.FLAWED(flaws=log.flaws)), {}
    own = folder_name(ticket.number)
    if place.name != own:  # a copy, or moved: counted where its number is, and once
        why = LogRefusal.OWN_FOLDER(folder=place.name, number=ticket.number, own=own)
        return LookedAt(place, sum_, "", sum_, why), {}
    file = f"{place.name}/{LOG.as_posix()}"
    rows = rows_of_ticket(ticket, log, file, sum_, how.named, names_kept=how.names_kept)
    return LookedAt(place, sum_, ticket.number, sum_), _fitting(rows)


def _fitting(rows: Made) -> Made:
    """Rows that every database takes; raises one of `UNFIT`."""
    for name, part in rows.items():
        look_at_cells(_TABLES[name], part)
    return {name: part for name, part in rows.items() if part}
