"""Where records and tickets lie below the results, and whether one has changed since it was read.

A file that nobody wrote to has the size, the times and the number in its file system that it had;
the time of its last change of any kind cannot be set by hand.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from burnin.core.errors import BadInput
from burnin.history.meanings import HistoryReason
from burnin.record.schema.folders import RUN_FILE
from burnin.record.sums import DATA_FILES, SUMS_FILE
from burnin.ticket.log.ticket_from_log import LOG


class PlaceKind(StrEnum):
    """What lies in a folder."""

    RECORD = "record"
    TICKET = "ticket"


@dataclass(frozen=True)
class Place:
    """A folder with a record, or with a ticket; `name` is the way to it below the results."""

    folder: Path
    name: str
    kind: PlaceKind
    stamp: str


def look_for(results: Path) -> None:
    """Raise BadInput where there is no such folder."""
    if not results.is_dir():
        raise BadInput(HistoryReason.NO_RESULTS(folder=str(results)))


def places(results: Path) -> Iterator[Place]:
    """Every ticket and every record, in order of their names."""
    for above in _folders(results):
        if (above / LOG).is_file():
            name = above.name
            yield Place(above, name, PlaceKind.TICKET, _stamp([above / LOG]))
        for folder in _folders(above):
            if (folder / RUN_FILE).is_file():
                paths = [folder / file for file in (*DATA_FILES, SUMS_FILE)]
                name = f"{above.name}/{folder.name}"
                yield Place(folder, name, PlaceKind.RECORD, _stamp(paths))


def _folders(path: Path) -> list[Path]:
    try:
        with os.scandir(path) as entries:
            found = [e.name for e in entries if e.is_dir(follow_symlinks=False)]
    except OSError:
        return []
    return [path / name for name in sorted(found) if not name.startswith(".")]


def _stamp(paths: list[Path]) -> str:
    told = []
    for path in paths:
        try:
            of = path.stat()
        except OSError:
            continue
        told.append(f"{path.name} {of.st_size} {of.st_mtime_ns} {of.st_ctime_ns} {of.st_ino}")
    return hashlib.sha256("\n".join(told).encode()).hexdigest()[:32]
