"""Takes records and tickets into a store: each once, wholly or not at all, or apart with why.

A record is known by the SHA-256 over its measured files. What was looked at stands in `sources`
in the same transaction as its rows, so that a process that is killed anywhere goes on where it was.
A record that changed since is taken out and looked at anew.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from burnin.core.meaning import Reason
from burnin.history.columns import as_json
from burnin.history.coming import APART, SAME, TAKEN, Arrived, Coming, Keeper
from burnin.history.embedded import EmbeddedKeeper
from burnin.history.looked_at import LookedAt, Looking
from burnin.history.looking import looked_at, most_jobs
from burnin.history.places import Place, PlaceKind, look_for, places
from burnin.history.pseudonym import Named
from burnin.history.sample_files import put_in_place
from burnin.history.store import open_to_write
from burnin.record.schema.folders import RUN_FILE
from burnin.ticket.log.ticket_from_log import LOG

AT_ONCE = 256
"""Places that are taken in with one transaction."""
Told = Callable[[int, int], None]
"""How many places of how many were looked at."""


@dataclass(frozen=True)
class Synced:
    """What a sync did: `apart` are places with the reason for which they are kept apart.

    `unchanged`: looked at before, or a copy of a record that is there.
    """

    taken: int
    unchanged: int
    apart: tuple[tuple[str, Reason], ...]


@dataclass(frozen=True)
class Wanted:
    """What a sync is to do: who a customer is, which folder is first, at `most` how many (0: all).

    `jobs`: processes that read; 0: as many as pay.
    """

    named: Named
    names_kept: bool = False
    first: str = ""
    most: int = 0
    jobs: int = 0


def sync(
    results: Path,
    folder: Path,
    named: Named,
    *,
    names_kept: bool = False,
    first: str = "",
    most: int = 0,
    jobs: int = 0,
    told: Told | None = None,
) -> Synced:
    """Bring the store in `folder` up to what lies in `results`.

    `named` says who a customer is to the store; at `most` so many places are looked at (0: all),
    those below the folder `first` before the others. Raises BadInput where there are no results, or
    another process holds the store.
    """
    return sync_folder(results, folder, Wanted(named, names_kept, first, most, jobs), told)


def sync_folder(
    results: Path, folder: Path, wanted: Wanted, told: Told | None = None
) -> Synced:
    """As `sync`, with what is wanted in one piece."""
    look_for(results)
    with open_to_write(folder) as store:
        return sync_into(EmbeddedKeeper(store), results, wanted, told)


def sync_into(keeper: Keeper, results: Path, wanted: Wanted, told: Told | None = None) -> Synced:
    """Bring an open store up to what lies in `results`."""
    return _Syncing(keeper, results, wanted).carried_out(told)


class _Syncing:
    def __init__(self, keeper: Keeper, results: Path, wanted: Wanted) -> None:
        self._keeper, self._results, self._wanted = keeper, results, wanted
        self._known = dict(keeper.known())
        self._keys = {one.key: at for at, one in self._known.items() if one.state == TAKEN}
        self._coming, self._samples = Coming(), list[Path]()

    def carried_out(self, told: Told | None) -> Synced:
        """Look at every place, and keep what was found."""
        wanted = self._wanted
        found = list(places(self._results))
        found.sort(key=lambda place: place.name.partition("/")[0] != wanted.first)
        changed = [place for place in found if not self._is_as_before(place)]
        fresh = changed[: wanted.most] if wanted.most else changed
        done = len(found) - len(changed)
        taken, apart = 0, list[tuple[str, Reason]]()
        how = Looking(wanted.named, wanted.names_kept, self._keeper.samples)
        for one in looked_at(fresh, how, wanted.jobs or most_jobs(len(fresh))):
            state = self._arrives(one)
            done += 1
            taken += state == TAKEN
            if one.why is not None:
                apart.append((one.place.name, one.why))
            if len(self._coming.arrived) >= AT_ONCE:
                self._keep()
                if told is not None:
                    told(done, len(found))
        self._keep()
        self._keeper.close_off(all_seen=len(fresh) == len(changed))
        if told is not None:
            told(done, len(found))
        same = len(found) - len(changed) + len(fresh) - taken - len(apart)
        return Synced(taken, same, tuple(apart))

    def _is_as_before(self, place: Place) -> bool:
        there = self._known.get((place.name, place.kind.value))
        return there is not None and there.stamp == place.stamp

    def _arrives(self, one: LookedAt) -> str:
        """Let a place wait for its transaction; its state."""
        self._forget(one.place)
        state = TAKEN if one.why is None else APART
        if state == TAKEN and one.place.kind is PlaceKind.RECORD:
            state = self._held_elsewhere(one)
        if state == TAKEN and one.samples is not None:
            self._samples.append(one.samples)
        elif one.samples is not None:
            one.samples.unlink()
        rows = one.rows if state == TAKEN else {}
        self._coming.arrived.append(Arrived(_source(one, state), one.thing, rows))
        return state

    def _held_elsewhere(self, one: LookedAt) -> str:
        """Whether another place holds this record, and is still there."""
        holder = self._keys.get(one.key)
        if holder is not None and (self._results / holder[0] / RUN_FILE).exists():
            return SAME
        if holder is not None:
            self._coming.old_runs.append(one.key)  # the folder was moved
        self._keys[one.key] = (one.place.name, one.place.kind.value)
        return TAKEN

    def _forget(self, place: Place) -> None:
        """What was known of a place that has changed goes with the transaction that says anew."""
        at = (place.name, place.kind.value)
        there = self._known.get(at)
        if there is None or there.state != TAKEN:
            return
        if place.kind is PlaceKind.TICKET:
            self._coming.old_tickets.append(f"{place.name}/{LOG.as_posix()}")
        elif self._keys.get(there.key) == at:
            self._coming.old_runs.append(there.key)
            del self._keys[there.key]

    def _keep(self) -> None:
        """Put what waits into the store in one piece; its samples lie on disk before."""
        coming, self._coming = self._coming, Coming()
        waiting, self._samples = self._samples, []
        put_in_place(waiting)
        if coming.arrived:
            self._keeper.keep(coming, frozenset(self._keys))


def _source(one: LookedAt, state: str) -> dict[str, object]:
    of_record = one.place.kind is PlaceKind.RECORD
    content = {} if one.why is None else one.why.as_plain()
    return {
        "place": one.place.name,
        "kind": one.place.kind.value,
        "state": state,
        "key": one.key,
        "stamp": one.place.stamp,
        "reason": content.pop("code", ""),
        "reason_data": as_json(content),
        "taken_utc": datetime.now(UTC).replace(tzinfo=None),
        "file": f"{one.place.name}/{RUN_FILE if of_record else LOG.as_posix()}",
        "file_sha256": one.file_sha256,
    }
