"""A round: the runs that go on at the same time as the newest one, or went on with it.

Two runs are of one round where they overlap in time, directly or by way of others. Where a run
began stands in its run.json, where it last wrote tells the journal's own time, for the clock of a
simulated machine runs ahead of that on the wall.
"""

from __future__ import annotations

import json
import time
from pathlib import Path

from burnin.core.clock import moment_of
from burnin.core.errors import BurninError
from burnin.core.files.bounded import read_at_most
from burnin.record.run_file import MOST_BYTES
from burnin.record.schema.folders import records_below
from burnin.record.sums import RUN_FILE
from burnin.run.record_lock import is_held

MOST_CARDS = 16
"""Cards of a round that are shown; no bench has more slots (common practice, no source)."""
_CLOSE_S = 2.0
"""A run that began so soon after another's end still came after it."""
_STILL_WRITTEN_S = 30.0


class RoundOfRuns:
    """Finds the round below `results`; `folders` is what was found and is followed.

    `looked`: somebody has looked since a page over the round was opened.
    """

    def __init__(self, results: Path) -> None:
        self._results = results
        self._began: dict[Path, tuple[int, float, bool]] = {}
        self.folders: list[Path] = []
        self.looked = False

    def found(self) -> list[Path]:
        """The records of the round, the first begun first."""
        now_s, spans = time.time(), []
        records = list(records_below(self._results))
        # What goes on is of now, whatever day a record tells that a clock set on had written.
        latest_s = max([now_s, *(written_ns / 1e9 for written_ns, _ in records)])
        for written_ns, folder in records:
            began_s, closed = self._began_of(folder)
            last_s = written_ns / 1e9
            is_fresh = 0.0 <= now_s - last_s < _STILL_WRITTEN_S
            if not closed and (is_held(folder) or is_fresh):
                last_s = latest_s
            spans.append((began_s, max(began_s, last_s), folder))
        found = _overlapping(spans)
        return [folder for _, _, folder in sorted(found, key=_first_begun)][:MOST_CARDS]

    def _began_of(self, folder: Path) -> tuple[float, bool]:
        """Seconds since 1970 when a run began, and whether it was closed, kept by its run.json."""
        path = folder / RUN_FILE
        try:
            stamp = path.stat().st_mtime_ns
            kept = self._began.get(folder)
            if kept is None or kept[0] != stamp:
                told = json.loads(read_at_most(path, MOST_BYTES))
                moment = moment_of(str(told.get("started_utc", "")))
                began_s = stamp / 1e9 if moment is None else moment.timestamp()
                kept = self._began[folder] = (stamp, began_s, bool(told.get("ended_utc")))
        except (OSError, ValueError, AttributeError, RecursionError, BurninError):
            return 0.0, True
        return kept[1], kept[2]


def _overlapping(spans: list[tuple[float, float, Path]]) -> list[tuple[float, float, Path]]:
    """The spans that overlap with the one that ended last, directly or by way of others."""
    if not spans:
        return []
    newest = max(spans, key=lambda span: (span[1], span[0]))
    chosen, begin_s = {newest}, newest[0]
    for span in sorted(spans, key=lambda span: span[1], reverse=True):
        if span[1] < begin_s + _CLOSE_S and span not in chosen:
            break
        chosen.add(span)
        begin_s = min(begin_s, span[0])
    return list(chosen)


def _first_begun(span: tuple[float, float, Path]) -> tuple[float, str]:
    """An order that stays while runs go on and end."""
    return span[0], span[2].name
