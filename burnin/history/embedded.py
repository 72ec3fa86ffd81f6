"""The embedded store while it is brought up to date: rows of a file go with what it held before."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

import pyarrow as pa

from burnin.history.card_keys import one_card_one_key
from burnin.history.coming import Coming, Known, Where
from burnin.history.rows import arrow
from burnin.history.sample_files import forget_samples, left_behind
from burnin.history.store import Store
from burnin.history.tables import IN_DATABASE, OF_RECORD, OF_TICKET, SOURCES

_TABLES = {table.name: table for table in IN_DATABASE}


class EmbeddedKeeper:
    """A `Keeper` of the store in a folder."""

    def __init__(self, store: Store) -> None:
        self._store = store
        for path in left_behind(store.folder):
            path.unlink()

    @property
    def samples(self) -> Path | None:
        """Where samples lie: beside the database."""
        return self._store.folder

    def known(self) -> Mapping[Where, Known]:
        """Every place that was looked at."""
        sql = "SELECT place, kind, stamp, state, key FROM sources"
        rows = self._store.ask(sql)
        return {(str(r[0]), str(r[1])): Known(*map(str, r[2:])) for r in rows}

    def keep(self, coming: Coming, still_there: frozenset[str]) -> None:
        """Put what waits into the store, with what it takes the place of, in one piece."""
        store = self._store
        parts: dict[str, list[pa.Table]] = defaultdict(list)
        for one in coming.arrived:
            for name, part in one.rows.items():
                parts[name].append(part)
        sources = [one.source for one in coming.arrived]
        with store.whole():
            for table in OF_RECORD:
                store.remove(table, "run_key", coming.old_runs)
            for table in OF_TICKET:
                store.remove(table, "file", coming.old_tickets)
            # Another folder with the same record may stand in now: it is looked at anew next time.
            store.remove(SOURCES, "key", coming.old_runs)
            store.remove_pairs(SOURCES, ("place", "kind"), arrow(SOURCES, sources))
            store.add(SOURCES, arrow(SOURCES, sources))
            for name, found in parts.items():
                store.add(_TABLES[name], pa.concat_tables(found))
        for key in coming.old_runs:
            if key not in still_there:
                forget_samples(store.folder, key)

    def close_off(self, *, all_seen: bool) -> None:
        """One card, one key; and until when the store knows what happened."""
        with self._store.whole():
            one_card_one_key(self._store)
            if all_seen:
                moment = datetime.now(UTC).replace(tzinfo=None)
                self._store.ask("UPDATE store SET synced_utc = ?", (moment,))
