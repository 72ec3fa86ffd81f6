"""One record followed: its last state at once, and all of it as soon as it was read.

A record of hours takes seconds to read. Until then the ends of its tables and run.json tell how the
run stands, and the curves grow from their begin; what only the whole of it can tell is not told.
What is read costs the run nothing: its files are opened for reading and its lock is looked at,
never taken.
"""

from __future__ import annotations

import secrets
import threading
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from burnin.core.errors import RecordError
from burnin.core.meaning import Value
from burnin.page.judging import Judging
from burnin.page.run_so_far import CURVES, RunSoFar
from burnin.page.seen import Phase, Seen
from burnin.record.growing.following import FollowedRecord, News
from burnin.record.schema.tables import JOURNAL, SAMPLES
from burnin.run.record_lock import is_held

_SURELY_QUIET_S = 30.0
"""Where nobody can say whether a run holds its record: after so long without a row it is gone."""
_POINTS_AT_ONCE = 500
"""Whoever shows the page waits for no more than these."""


class RecordWatch:
    """A record's folder; `seen` is what is shown of it, changed under `lock` alone."""

    def __init__(self, folder: Path, lock: threading.Lock) -> None:
        self.folder, self._lock = folder, lock
        self.seen = Seen(folder, epoch=secrets.token_hex(4))
        self._end: FollowedRecord | None = None
        self._whole: FollowedRecord | None = None  # no file is opened before the first look
        self._all = RunSoFar()
        self._judging = Judging(folder)
        self._told_second = -1
        self._quiet = _Quiet()

    def look_safely(self) -> bool:
        """As `look`; whatever the record holds, it is named and nothing is raised."""
        try:
            return self.look()
        except Exception as error:  # the page goes on, and names it
            self._tell_unreadable(f"{type(error).__name__}: {error}")
            return False

    def look(self) -> bool:
        """Take in what is new; whether there is more at once."""
        held = is_held(self.folder)  # before the journal: whoever lets go has written its end
        if self._whole is None:
            self._whole = FollowedRecord(self.folder, columns=CURVES)
            self._end = FollowedRecord(self.folder, columns=CURVES, at_ends=True)
        try:
            if self._end is not None and self._look_at_end(self._end, held):
                return True
            more, some = self._look_at_all(self._whole)
        except RecordError as error:
            self._tell_unreadable(error.told)
            return False
        self._tell_how_far(held, some=some)
        if not more:
            self._judge()
        return more

    def end(self) -> None:
        """Nobody looks any more."""
        self._judging.end()

    def _look_at_end(self, end: FollowedRecord, held: bool | None) -> bool:
        """Tell what the ends of the tables say; whether that was the first look."""
        news = end.look()
        if not end.passed_over:
            self._end = None  # it is short enough to be read as a whole
            return False
        first = not self.seen.so_far.begin_unread or news.anew
        with self._lock:
            if first:
                self.seen.so_far = RunSoFar(begin_unread=True)
                if news.run is not None:
                    self.seen.so_far.begin_with(news.run)
            self.seen.so_far.take(replace(news, points=()))
        if first:
            self._tell_how_far(held, some=True)
        return first

    def _look_at_all(self, whole: FollowedRecord) -> tuple[bool, bool]:
        """Take in the next part of the record; whether there is more, and was anything new."""
        news = whole.look()
        if news.anew:
            self._all = RunSoFar()
            with self._lock:
                self.seen.epoch = secrets.token_hex(4)
        for part in _portions(news):
            with self._lock:
                self._all.take(part)
                self.seen.curves = self._all.curves
        if news.more and self._end is not None:
            with self._lock:
                self.seen.read_share = whole.read_share()
            return True, news.some
        self._end = None
        with self._lock:
            self.seen.so_far, self.seen.read_share = self._all, 1.0
        return news.more, news.some

    def _tell_how_far(self, held: bool | None, *, some: bool) -> None:
        quiet_s = self._quiet.seconds(self.folder)
        with self._lock:
            seen = self.seen
            phase = _phase(seen.so_far, held, quiet_s)
            second = -1 if phase is Phase.FINISHED else int(quiet_s)
            again = second != self._told_second or phase is not seen.phase
            if some or again or seen.unreadable or not seen.looked:
                seen.revision += 1
            seen.phase, seen.quiet_s, seen.unreadable, seen.looked = phase, quiet_s, "", True
            self._told_second = second
            if not seen.so_far.finished:
                seen.judged = None
                self._judging.void()

    def _tell_unreadable(self, words: Value) -> None:
        with self._lock:
            if words != self.seen.unreadable or not self.seen.looked:
                self.seen.revision += 1
            self.seen.unreadable, self.seen.looked = words, True

    def _judge(self) -> None:
        """What a sheet would print of the record, once it was closed."""
        if not self.seen.so_far.finished or self.seen.judged is not None:
            return
        judged = self._judging.look()
        if judged is not None:
            with self._lock:
                self.seen.judged = judged
                self.seen.revision += 1


def _portions(news: News) -> Iterator[News]:
    """The same in small parts: all that is no point first."""
    yield replace(news, points=news.points[:_POINTS_AT_ONCE])
    for at in range(_POINTS_AT_ONCE, len(news.points), _POINTS_AT_ONCE):
        yield News(points=news.points[at : at + _POINTS_AT_ONCE])


def _phase(so_far: RunSoFar, held: bool | None, quiet_s: float) -> Phase:
    if so_far.finished:
        return Phase.FINISHED
    gone = quiet_s > _SURELY_QUIET_S and so_far.prompt is None if held is None else not held
    if gone:
        return Phase.CUT_OFF
    return Phase.STOPPING if so_far.stop_asked else Phase.RUNNING


class _Quiet:
    """Seconds since a run last wrote a row; once that is seen, the wall's clock may be set."""

    def __init__(self) -> None:
        self._newest = self._before_s = self._seen_s = 0.0

    def seconds(self, folder: Path) -> float:
        """Of the record in this folder; 0 where it has no row."""
        newest = 0.0
        for name in (JOURNAL, SAMPLES):
            try:
                newest = max(newest, (folder / name).stat().st_mtime)
            except OSError:
                continue
        if newest != self._newest:
            self._newest, self._seen_s = newest, time.monotonic()
            self._before_s = max(0.0, time.time() - newest)
        return self._before_s + time.monotonic() - self._seen_s if newest else 0.0
