"""Takes records and tickets into the store: each once, wholly or not at all, or apart with why.

A record is known by the SHA-256 over its measured files. What was looked at stands in `sources`
in the same transaction as its rows, so that a process that is killed anywhere goes on where it was.
A record that changed since is taken out and looked at anew.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

import pyarrow as pa

from burnin.core.errors import BurninError
from burnin.core.meaning import Reason
from burnin.core.ticket_header import folder_name
from burnin.history.card_keys import one_card_one_key
from burnin.history.columns import as_json
from burnin.history.meanings import HistoryReason
from burnin.history.of_record import Cells, rows_of_record, why_apart
from burnin.history.of_ticket import log_sha256, rows_of_ticket
from burnin.history.places import Place, PlaceKind, look_for, places
from burnin.history.pseudonym import Named
from burnin.history.sample_files import forget_samples, write_samples
from burnin.history.store import UNFIT, Store, arrow, open_to_write
from burnin.history.tables import IN_DATABASE, OF_RECORD, OF_TICKET, SOURCES
from burnin.record.event_log import read_log
from burnin.record.reader import read_record
from burnin.record.schema.folders import RUN_FILE
from burnin.record.schema.tables import SAMPLES
from burnin.ticket.log.refusals import LogRefusal
from burnin.ticket.log.ticket_from_log import LOG, fold

AT_ONCE = 64
"""Records that are taken in with one transaction."""
TAKEN, APART, SAME = "taken", "apart", "same"
Told = Callable[[int, int], None]
"""How many places of how many were looked at."""
_TABLES = {table.name: table for table in IN_DATABASE}


@dataclass(frozen=True)
class Synced:
    """What a sync did: `apart` are places with the reason for which they are kept apart.

    `unchanged`: looked at before, or a copy of a record that is there.
    """

    taken: int
    unchanged: int
    apart: tuple[tuple[str, Reason], ...]


@dataclass
class _Coming:
    """Rows that wait for their transaction, and what they take the place of."""

    rows: dict[str, list[pa.Table]] = field(default_factory=dict)
    sources: list[Cells] = field(default_factory=list)
    old_runs: list[str] = field(default_factory=list)
    old_tickets: list[str] = field(default_factory=list)


def sync(
    results: Path,
    folder: Path,
    named: Named,
    *,
    names_kept: bool = False,
    first: str = "",
    most: int = 0,
    told: Told | None = None,
) -> Synced:
    """Bring the store in `folder` up to what lies in `results`.

    `named` gives what stands in a customer's place. What is in the folder `first` is looked at
    first; `most` is how many places that are new or changed are looked at, 0 for all. Raises
    BadInput where the store cannot be written, OSError where the disk cannot.
    """
    look_for(results)
    with open_to_write(folder) as store:
        return _Syncing(store, results, named, names_kept).carried_out(first, most, told)


class _Syncing:
    def __init__(self, store: Store, results: Path, named: Named, names_kept: bool) -> None:
        self._store, self._results = store, results
        self._named, self._names_kept = named, names_kept
        sql = "SELECT place, kind, stamp, state, key FROM sources"
        self._known = {(str(r[0]), str(r[1])): r[2:] for r in store.ask(sql)}
        self._keys = {str(key): where for where, (_, state, key) in self._known.items()
                      if state == TAKEN}  # fmt: skip
        self._coming = _Coming()
        self._all_seen = True

    def carried_out(self, first: str, most: int, told: Told | None) -> Synced:
        """Look at every place, and keep what was found."""
        found = list(places(self._results))
        found.sort(key=lambda place: place.name.partition("/")[0] != first)
        unchanged = taken = looked_at = 0
        apart: list[tuple[str, Reason]] = []
        for number, place in enumerate(found, start=1):
            there = self._known.get((place.name, place.kind.value))
            if there is not None and there[0] == place.stamp:
                unchanged += 1
            elif most and looked_at >= most:
                self._all_seen = False
                break
            else:
                looked_at += 1
                why = self._look_at(place)
                if why is not None:
                    apart.append((place.name, why))
                elif self._coming.sources[-1]["state"] == TAKEN:
                    taken += 1
                else:
                    unchanged += 1
            if len(self._coming.sources) >= AT_ONCE:
                self._keep()
                if told is not None:
                    told(number, len(found))
        self._keep(at_end=True)
        if told is not None:
            told(len(found), len(found))
        return Synced(taken, unchanged, tuple(apart))

    def _look_at(self, place: Place) -> Reason | None:
        """Take a place in; the reason where it is kept apart."""
        self._forget(place)
        try:
            if place.kind is PlaceKind.RECORD:
                return self._record(place)
            return self._ticket(place)
        except BurninError as error:
            why = HistoryReason.UNREADABLE(words=error.told)
        except UNFIT as error:
            why = HistoryReason.DOES_NOT_FIT(words=str(error)[:200])
        self._source(place, APART, "", why)
        return why

    def _record(self, place: Place) -> Reason | None:
        record = read_record(place.folder)
        why = why_apart(record)
        if why is not None:
            self._source(place, APART, record.data_sha256, why, record.sha256(RUN_FILE))
            return why
        key = record.data_sha256
        holder = self._keys.get(key)
        if holder is not None and not (self._results / holder[0] / RUN_FILE).exists():
            self._coming.old_runs.append(key)  # the folder was moved
        elif holder is not None:
            self._source(place, SAME, key, None, record.sha256(RUN_FILE))
            return None
        made = _made(rows_of_record(record, place.name, self._named).rows)
        file = f"{place.name}/{SAMPLES}"
        write_samples(self._store.folder, key, record.rows(SAMPLES), file, record.sha256(SAMPLES))
        self._add(made)  # only now: what fits no column is kept apart with all that belongs to it
        self._keys[key] = (place.name, place.kind.value)
        self._source(place, TAKEN, key, None, record.sha256(RUN_FILE))
        return None

    def _ticket(self, place: Place) -> Reason | None:
        path = place.folder / LOG
        log, sum_ = read_log(path), log_sha256(path)
        ticket = fold(place.folder, log)
        if ticket is None or log.flaws:
            why: Reason = HistoryReason.FLAWED(flaws=log.flaws)
            self._source(place, APART, sum_, why, sum_)
            return why
        own = folder_name(ticket.number)
        if place.name != own:  # a copy, or moved: counted where its number is, and once
            why = LogRefusal.OWN_FOLDER(folder=place.name, number=ticket.number, own=own)
            self._source(place, APART, sum_, why, sum_)
            return why
        file = f"{place.name}/{LOG.as_posix()}"
        rows = rows_of_ticket(ticket, log, file, sum_, self._named, names_kept=self._names_kept)
        self._add(_made(rows))
        self._source(place, TAKEN, sum_, None, sum_)
        return None

    def _add(self, made: Mapping[str, pa.Table]) -> None:
        for name, part in made.items():
            self._coming.rows.setdefault(name, []).append(part)

    def _forget(self, place: Place) -> None:
        """What was known of a place that has changed goes with the transaction that says anew."""
        there = self._known.get((place.name, place.kind.value))
        if there is None or there[1] != TAKEN:
            return
        if place.kind is PlaceKind.TICKET:
            self._coming.old_tickets.append(f"{place.name}/{LOG.as_posix()}")
        elif self._keys.get(str(there[2])) == (place.name, place.kind.value):
            self._coming.old_runs.append(str(there[2]))
            del self._keys[str(there[2])]

    def _source(
        self, place: Place, state: str, key: str, why: Reason | None, file_sha256: str = ""
    ) -> None:
        of_record = place.kind is PlaceKind.RECORD
        content = {} if why is None else why.as_plain()
        self._coming.sources.append(
            {
                "place": place.name,
                "kind": place.kind.value,
                "state": state,
                "key": key,
                "stamp": place.stamp,
                "reason": content.pop("code", ""),
                "reason_data": as_json(content),
                "taken_utc": datetime.now(UTC).replace(tzinfo=None),
                "file": f"{place.name}/{RUN_FILE if of_record else LOG.as_posix()}",
                "file_sha256": file_sha256,
            }
        )

    def _keep(self, *, at_end: bool = False) -> None:
        """Put what waits into the store, with what it takes the place of, in one piece."""
        coming, self._coming = self._coming, _Coming()
        store = self._store
        with store.whole():
            for table in OF_RECORD:
                store.remove(table, "run_key", coming.old_runs)
            for table in OF_TICKET:
                store.remove(table, "file", coming.old_tickets)
            # Another folder with the same record may stand in now: it is looked at anew next time.
            store.remove(SOURCES, "key", coming.old_runs)
            for source in coming.sources:
                known = (source["place"], source["kind"])
                store.ask("DELETE FROM sources WHERE place = ? AND kind = ?", known)
            store.add(SOURCES, arrow(SOURCES, coming.sources))
            for name, parts in coming.rows.items():
                store.add(_TABLES[name], pa.concat_tables(parts))
            if at_end:
                one_card_one_key(store)
            if at_end and self._all_seen:
                moment = datetime.now(UTC).replace(tzinfo=None)
                store.ask("UPDATE store SET synced_utc = ?", (moment,))
        for key in coming.old_runs:
            if key not in self._keys:
                forget_samples(store.folder, key)


def _made(rows: Mapping[str, list[Cells]]) -> Mapping[str, pa.Table]:
    """Rows as the database takes them; raises one of `UNFIT`."""
    return {name: arrow(_TABLES[name], part) for name, part in rows.items() if part}
