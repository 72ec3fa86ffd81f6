"""One place below the results, looked at: its rows, or why it is kept apart.

Needs no store, so that several processes can look at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import pyarrow as pa

from burnin.core.errors import BurninError
from burnin.core.meaning import Reason
from burnin.history.meanings import HistoryReason
from burnin.history.of_record import Cells, rows_of_record, why_apart
from burnin.history.of_ticket import log_sha256, rows_of_ticket
from burnin.history.places import Place, PlaceKind
from burnin.history.pseudonym import Named
from burnin.history.rows import UNFIT, arrow
from burnin.history.sample_files import write_samples
from burnin.history.tables import IN_DATABASE
from burnin.record.event_log import read_log
from burnin.record.reader import Record, read_record
from burnin.record.schema.folders import RUN_FILE
from burnin.record.schema.tables import SAMPLES
from burnin.ticket.log.ticket_from_log import LOG, fold

_TABLES = {table.name: table for table in IN_DATABASE}


@dataclass(frozen=True)
class Looking:
    """How places are looked at: `named` says who a customer is, `samples` where samples go."""

    named: Named
    names_kept: bool = False
    samples: Path | None = None


@dataclass(frozen=True)
class LookedAt:
    """What was found; `key` is the hash that it is known by, `thing` the run's key or the number.

    `samples` is a file of samples that waits to be put in its place.
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
    try:
        return (_record if place.kind is PlaceKind.RECORD else _ticket)(place, how)
    except BurninError as error:
        return LookedAt(place, why=HistoryReason.UNREADABLE(words=str(error.told)))
    except UNFIT as error:
        return LookedAt(place, why=HistoryReason.DOES_NOT_FIT(words=str(error)[:200]))


def _record(place: Place, how: Looking) -> LookedAt:
    record = read_record(place.folder)
    key, sum_ = record.data_sha256, record.sha256(RUN_FILE)
    why = why_apart(record)
    if why is not None:
        return LookedAt(place, key, key, sum_, why)
    made = _made(rows_of_record(record, place.name, how.named).rows)
    samples = _samples(record, key, place, how.samples) if how.samples is not None else None
    return LookedAt(place, key, key, sum_, rows=made, samples=samples)


def _samples(record: Record, key: str, place: Place, folder: Path) -> Path:
    file = f"{place.name}/{SAMPLES}"
    return write_samples(folder, key, record.rows(SAMPLES), file, record.sha256(SAMPLES))


def _ticket(place: Place, how: Looking) -> LookedAt:
    path = place.folder / LOG
    log, sum_ = read_log(path), log_sha256(path)
    ticket = fold(place.folder, log)
    if ticket is None or log.flaws:
        return LookedAt(place, sum_, "", sum_, HistoryReason.FLAWED(flaws=log.flaws))
    file = f"{place.name}/{LOG.as_posix()}"
    rows = rows_of_ticket(ticket, log, file, sum_, how.named, names_kept=how.names_kept)
    return LookedAt(place, sum_, ticket.number, sum_, rows=_made(rows))


def _made(rows: Mapping[str, list[Cells]]) -> Mapping[str, pa.Table]:
    """Rows as databases take them; raises one of `UNFIT`."""
    return {name: arrow(_TABLES[name], part) for name, part in rows.items() if part}
