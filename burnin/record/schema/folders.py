"""Which record is meant where a folder above it is named: the one that a run wrote to last."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from burnin.core.meaning import Term, TermCode
from burnin.record.schema.tables import JOURNAL

RUN_FILE = "run.json"


class NamedTerm(TermCode):
    """What to name where a folder that is no record's was named for one."""

    NO_FOLDER = "named_no_folder"
    NONE_BELOW = "named_none_below"
    NEWEST = "named_newest", "record"


def newest_record(results: Path) -> Path | None:
    """The record below `results` whose journal is the newest; None where there is none yet."""
    found = max(records_below(results), default=None)
    return None if found is None else found[1]


def what_to_name(folder: Path) -> Term:
    """What to do where a folder that is no record's was named for one."""
    if not folder.is_dir():
        return NamedTerm.NO_FOLDER()
    newest = newest_record(folder)
    if newest is None:
        own = [(begun, one) for one in _folders(folder) if (begun := _written(one / RUN_FILE))]
        newest = max(own)[1] if own else None
    if newest is None:
        return NamedTerm.NONE_BELOW()
    return NamedTerm.NEWEST(record=str(newest))


def records_below(results: Path) -> Iterator[tuple[int, Path]]:
    """Every record, as results/<ticket or date>/<run id>, and when its run last wrote there."""
    for above in _folders(results):
        for folder in _folders(above):
            begun = _written(folder / RUN_FILE)
            if begun:
                yield max(begun, _written(folder / JOURNAL)), folder


def _folders(path: Path) -> list[Path]:
    try:
        with os.scandir(path) as entries:
            return [path / e.name for e in entries if e.is_dir(follow_symlinks=False)]
    except OSError:
        return []


def _written(path: Path) -> int:
    try:
        return path.stat(follow_symlinks=False).st_mtime_ns
    except OSError:
        return 0
