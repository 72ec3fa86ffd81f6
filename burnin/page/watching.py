"""One thread follows the newest record, or a named one; whoever serves the page looks at `seen`.

However many look, the record is read once. What is read costs the run nothing: its files are opened
for reading and its lock is looked at, never taken.
"""

from __future__ import annotations

import secrets
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from burnin.core.errors import BurninError, RecordError
from burnin.core.meaning import Meaning, Value
from burnin.core.verdict import RunVerdict
from burnin.page.run_so_far import RunSoFar
from burnin.page.seen import Phase, Seen
from burnin.page.terms import PageReason
from burnin.record.growing.following import FollowedRecord
from burnin.record.reader import read_record
from burnin.record.schema.folders import newest_record
from burnin.record.schema.tables import JOURNAL, SAMPLES
from burnin.report.sheet.printed_verdict import printed_verdict
from burnin.report.sheet.run_stages import run_stages
from burnin.run.record_lock import is_held

LOOK_EVERY_S = 0.4
_NEWEST_EVERY_S = 2.0
_SURELY_QUIET_S = 30.0
"""Where nobody can say whether a run holds its record: after so long without a row it is gone."""


class Watching:
    """The record that is shown, followed until `end`."""

    def __init__(self, results: Path, record: Path | None = None) -> None:
        self.results, self._named = results, record
        self._seen = Seen()
        self._followed: FollowedRecord | None = None
        self._looked_for_newest_s = -_NEWEST_EVERY_S
        self._told_second = -1
        self._lock, self._ended = threading.Lock(), threading.Event()
        self._thread = threading.Thread(target=self._watch, name="watching", daemon=True)

    def begin(self) -> None:
        """Follow, in a thread of its own; what is there already is seen when this returns."""
        self._look_safely()
        self._thread.start()

    def end(self) -> None:
        """Follow no longer."""
        self._ended.set()
        if self._thread.is_alive():
            self._thread.join(2.0)

    @contextmanager
    def seen(self) -> Iterator[Seen]:
        """What is shown, and stays so while inside."""
        with self._lock:
            yield self._seen

    @property
    def revision(self) -> tuple[str, int]:
        """Of what is shown now."""
        return self._seen.epoch, self._seen.revision

    @property
    def folder(self) -> Path | None:
        """The record that is shown."""
        return self._seen.folder

    def _watch(self) -> None:
        while not self._ended.is_set():
            if not self._look_safely():
                self._ended.wait(LOOK_EVERY_S)

    def _look_safely(self) -> bool:
        try:
            return self.look()
        except Exception as error:  # whatever a record holds, the page goes on and names it
            self._tell_unreadable(f"{type(error).__name__}: {error}")
            return False

    def look(self) -> bool:
        """Take in what is new; whether there is more at once."""
        self._choose()
        followed = self._followed
        if followed is None:
            return False
        held = is_held(followed.folder)  # before the journal: whoever lets go has written its end
        try:
            news = followed.look()
        except RecordError as error:
            self._tell_unreadable(error.told)
            return False
        quiet_s = _quiet_s(followed.folder)
        with self._lock:
            seen = self._seen
            if news.anew:
                seen.so_far, seen.epoch = RunSoFar(), secrets.token_hex(4)
            seen.so_far.take(news)
            phase = _phase(seen.so_far, held, quiet_s)
            second = -1 if phase is Phase.FINISHED else int(quiet_s)
            again = second != self._told_second or phase is not seen.phase
            self._changed(news.some, again, bool(seen.unreadable))
            seen.phase, seen.quiet_s, seen.unreadable = phase, quiet_s, ""
            self._told_second = second
            if not seen.so_far.finished:
                seen.judged = None
            to_judge = seen.so_far.finished and seen.judged is None and not news.more
        if to_judge:
            self._judge(followed.folder)
        return news.more

    def _changed(self, *some: bool) -> None:
        if any(some):
            self._seen.revision += 1

    def _tell_unreadable(self, words: Value) -> None:
        with self._lock:
            self._changed(words != self._seen.unreadable)
            self._seen.unreadable = words

    def _choose(self) -> None:
        now_s = time.monotonic()
        if self._named is None and now_s - self._looked_for_newest_s < _NEWEST_EVERY_S:
            return
        self._looked_for_newest_s = now_s
        folder = self._named or newest_record(self.results)
        if folder is None or (self._followed is not None and folder == self._followed.folder):
            return
        self._followed = FollowedRecord(folder)
        with self._lock:
            revision = self._seen.revision + 1
            self._seen = Seen(folder, epoch=secrets.token_hex(4), revision=revision)

    def _judge(self, folder: Path) -> None:
        """What a sheet would print of the record, which was closed."""
        judged: tuple[RunVerdict, Meaning]
        try:
            record = read_record(folder)
            judged = printed_verdict(record, run_stages(record))
        except BurninError as error:
            judged = RunVerdict.INCOMPLETE, PageReason.UNREADABLE(words=error.told)
        with self._lock:
            if self._seen.folder == folder:
                self._seen.judged = judged
                self._seen.revision += 1


def _phase(so_far: RunSoFar, held: bool | None, quiet_s: float) -> Phase:
    if so_far.finished:
        return Phase.FINISHED
    gone = quiet_s > _SURELY_QUIET_S and so_far.prompt is None if held is None else not held
    if gone:
        return Phase.CUT_OFF
    return Phase.STOPPING if so_far.stop_asked else Phase.RUNNING


def _quiet_s(folder: Path) -> float:
    """Seconds since the run last wrote a row."""
    newest = 0.0
    for name in (JOURNAL, SAMPLES):
        try:
            newest = max(newest, (folder / name).stat().st_mtime)
        except OSError:
            continue
    return max(0.0, time.time() - newest) if newest else 0.0
