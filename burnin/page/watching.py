"""One thread follows all records that somebody looks at; whoever serves a page looks at `seen`.

However many look, a record is read once. The newest record, or the one that was named at the start,
is always followed; another one while a page that shows it is open, and those of a round while a
page over all of them is.
"""

from __future__ import annotations

import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from burnin.page.record_watch import RecordWatch
from burnin.page.round_of_runs import RoundOfRuns
from burnin.page.seen import Seen
from burnin.record.schema.folders import newest_record

LOOK_EVERY_S = 0.4
MOST_FOLLOWED = 40
"""Records that are followed at once; more than so many cards and people are in no shop."""
_NEWEST_EVERY_S, _ROUND_EVERY_S = 2.0, 1.0
_BREATH_S = 0.005
"""Between two parts of a long record whoever asks for a page is served."""
_KEPT_S = 30.0
"""So long a record is kept in memory after the last page that showed it was closed."""


class Watching:
    """The records below `results` that are shown, followed until `end`."""

    def __init__(self, results: Path, record: Path | None = None) -> None:
        self.results, self._named = results, record
        self._main: RecordWatch | None = None
        self._none = Seen()
        self._others: dict[Path, RecordWatch] = {}
        self._viewers: Counter[Path] = Counter()
        self._unseen_since_s: dict[Path, float] = {}
        self._round, self._round_viewers = RoundOfRuns(results), 0
        self._looked_for_newest_s = self._looked_for_round_s = -_KEPT_S
        self._lock, self._ended = threading.Lock(), threading.Event()
        self._wanted = threading.Event()
        self._thread = threading.Thread(target=self._watch, name="watching", daemon=True)

    def begin(self) -> None:
        """Follow, in a thread of its own; the newest record is seen when this returns."""
        self._look_safely()
        self._thread.start()

    def end(self) -> None:
        """Follow no longer."""
        self._ended.set()
        self._wanted.set()
        if self._thread.is_alive():
            self._thread.join(2.0)
        for watch in self._followed():
            watch.end()

    @contextmanager
    def seen(self, folder: Path | None = None) -> Iterator[Seen]:
        """What is shown of a record, of the newest where none is named; it stays so inside."""
        with self._lock:
            yield self._seen(folder)

    def revision_of(self, folder: Path | None = None) -> tuple[str, int, bool]:
        """Of what is shown of a record now; whether somebody has looked at it yet."""
        seen = self._seen(folder)
        return seen.epoch, seen.revision, seen.looked

    @property
    def folder(self) -> Path | None:
        """The newest record, or the one that was named."""
        return None if self._main is None else self._main.folder

    def folder_of_run(self, run_id: object) -> Path | None:
        """The record, of those that are followed now, whose run has this id."""
        with self._lock:
            for watch in self._followed():
                run = watch.seen.so_far.run
                if run is not None and run.run_id == run_id:
                    return watch.folder
        return None

    def has_room(self, folder: Path) -> bool:
        """Whether this record can be followed beside those that are."""
        with self._lock:
            return folder in self._others or len(self._others) < MOST_FOLLOWED

    @contextmanager
    def shown(self, folder: Path | None) -> Iterator[None]:
        """While a page shows this record."""
        if folder is None:
            yield
            return
        with self._lock:
            self._viewers[folder] += 1
            self._follow(folder)
        self._wanted.set()
        try:
            yield
        finally:
            with self._lock:
                self._viewers[folder] -= 1

    @contextmanager
    def round_shown(self) -> Iterator[None]:
        """While a page shows all runs of a round."""
        with self._lock:
            if not self._round_viewers:
                self._looked_for_round_s, self._round.looked = -_KEPT_S, False
            self._round_viewers += 1
        self._wanted.set()
        try:
            yield
        finally:
            with self._lock:
                self._round_viewers -= 1

    @contextmanager
    def round(self) -> Iterator[list[Seen]]:
        """What is shown of each run of the round, the first begun first."""
        with self._lock:
            yield [self._seen(folder) for folder in self._round.folders]

    def round_revision(self) -> object:
        """Of what is shown of the round; None while somebody has not looked at all of it."""
        with self._lock:
            found = [self._seen(folder) for folder in self._round.folders]
            if not self._round.looked or not all(seen.looked for seen in found):
                return None
            return tuple((seen.epoch, seen.revision) for seen in found)

    def _seen(self, folder: Path | None) -> Seen:
        found = self._main
        if folder is not None and (found is None or found.folder != folder):
            found = self._others.get(folder)
        return self._none if found is None else found.seen

    def _followed(self) -> list[RecordWatch]:
        main = [] if self._main is None else [self._main]
        return [*main, *self._others.values()]

    def _follow(self, folder: Path) -> None:
        main = self._main
        if folder not in self._others and (main is None or main.folder != folder):
            self._others[folder] = RecordWatch(folder, self._lock)

    def _watch(self) -> None:
        while not self._ended.is_set():
            self._wanted.wait(_BREATH_S if self._look_safely() else LOOK_EVERY_S)
            self._wanted.clear()

    def _look_safely(self) -> bool:
        try:
            return self.look()
        except Exception as error:  # what lies below results may be anything: it is named
            with self._lock:
                seen = self._seen(None)
                seen.unreadable, seen.looked = f"{type(error).__name__}: {error}", True
                seen.revision += 1
            return False

    def look(self) -> bool:
        """Take in what is new of every record; whether there is more at once."""
        self._choose()
        self._choose_round()
        with self._lock:
            followed = self._followed()
        more = [watch.look_safely() for watch in followed]
        self._drop_unseen()
        return any(more)

    def _choose(self) -> None:
        now_s = time.monotonic()
        if self._named is None and now_s - self._looked_for_newest_s < _NEWEST_EVERY_S:
            return
        self._looked_for_newest_s = now_s
        folder = self._named or newest_record(self.results)
        before = self._main
        if folder is None or (before is not None and folder == before.folder):
            self._none.looked = True
            return
        with self._lock:
            self._main = self._others.pop(folder, None) or RecordWatch(folder, self._lock)
            if before is not None:
                self._others[before.folder] = before

    def _choose_round(self) -> None:
        now_s = time.monotonic()
        if not self._round_viewers or now_s - self._looked_for_round_s < _ROUND_EVERY_S:
            return
        self._looked_for_round_s = now_s
        found = self._round.found()
        with self._lock:
            for folder in found[: MOST_FOLLOWED - len(self._others)]:
                self._follow(folder)
            self._round.folders = [f for f in found if self._seen(f) is not self._none]
            self._round.looked = True

    def _drop_unseen(self) -> None:
        now_s = time.monotonic()
        with self._lock:
            kept = {folder for folder, count in self._viewers.items() if count > 0}
            kept |= set(self._round.folders) if self._round_viewers else set()
            for folder in list(self._others):
                if folder in kept:
                    self._unseen_since_s.pop(folder, None)
                elif now_s - self._unseen_since_s.setdefault(folder, now_s) > _KEPT_S:
                    self._others.pop(folder).end()
                    self._unseen_since_s.pop(folder)
                    self._viewers.pop(folder, None)
