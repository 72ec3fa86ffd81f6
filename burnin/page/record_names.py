"""How a page asks for a record: by the names of its two folders, never by a path.

A name is only ever compared with what lies below `results`; it is no part of a path before it was
found there, so that none leads anywhere else.
"""

from __future__ import annotations

import os
from pathlib import Path

from burnin.record.sums import RUN_FILE

MOST_CHARACTERS = 300


def record_name(folder: Path) -> str:
    """The name of a record by its folder."""
    return f"{folder.parent.name}/{folder.name}"


def record_of(results: Path, name: str) -> Path | None:
    """The record of that name below `results`, None where there is none."""
    above, _, run = name.partition("/")
    if len(name) > MOST_CHARACTERS or not _is_folder_in(results, above):
        return None
    folder = results / above
    if not _is_folder_in(folder, run) or not (folder / run / RUN_FILE).is_file():
        return None
    return folder / run


def _is_folder_in(folder: Path, name: str) -> bool:
    try:
        with os.scandir(folder) as entries:
            return any(e.name == name and e.is_dir(follow_symlinks=False) for e in entries)
    except OSError:
        return False
