"""Folders that hold customers' data: whose they are, by their mode.

A folder is its owner's alone (0700), so that whatever lies in it is, whichever mode it has itself
and whoever writes it later. A folder that a shop shares carries the set-group-ID bit (chmod g+s),
which says that its group works there: what is made below it is that group's too (2770).
"""

from __future__ import annotations

import os
import stat
from pathlib import Path

OWNER_ONLY, OWNER_AND_GROUP = 0o700, 0o2770
FOR_ANYBODY = 0o644
"""Of a sheet that is handed out: whoever is given a copy of it may read it."""


def private_folder(path: Path) -> None:
    """Make a folder and those above it that are missing; one that is there stays as it is.

    Raises OSError.
    """
    missing = []
    above = path
    while not above.exists() and above != above.parent:
        missing.append(above)
        above = above.parent
    mode = folder_mode(above)
    for folder in reversed(missing):
        try:
            folder.mkdir(mode=mode)
        except FileExistsError:
            continue  # somebody else made it at the same moment
        folder.chmod(mode)  # whatever the umask took away
    path.mkdir(exist_ok=True)  # raises where something else than a folder has the name


def folder_mode(parent: Path) -> int:
    """The mode of a folder with customers' data below `parent`."""
    shared = parent.stat().st_mode & stat.S_ISGID
    return OWNER_AND_GROUP if shared else OWNER_ONLY


def keep_files_private() -> None:
    """What this process makes from now on is its owner's alone.

    Where the umask lets the group write (a shop that shares its folders), the group keeps that.
    """
    before = os.umask(0o077)
    if not before & stat.S_IWGRP:
        os.umask(0o007)
