"""What lies in a folder, as it lies there: no link is followed, nothing but plain files is good."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from pathlib import Path

from burnin.core.files.bounded import sha256_of as digest_of
from burnin.core.meaning import Reason
from burnin.ticket.handover.meanings import SigningReason


def names_in(folder: Path) -> tuple[str, ...]:
    """Names of all that lies in a folder and below, sorted; links and empty folders among them.

    Folders that hold something are told by what they hold.
    """
    found: list[str] = []
    for above, folders, files in os.walk(folder, followlinks=False):
        place = Path(above)
        if place != folder and not folders and not files:
            found.append(place.relative_to(folder).as_posix())
        links = [name for name in folders if (place / name).is_symlink()]
        found += [(place / name).relative_to(folder).as_posix() for name in (*files, *links)]
    return tuple(sorted(found))


def not_plain(folder: Path, name: str) -> Reason | None:
    """Why something in a folder is no file of its own; None where it is, or is not there.

    A link shows bytes that lie elsewhere, where anybody may change them later. A second name of the
    same file (a backup of hard links) shows its own bytes, and they are held against the list.
    """
    path = folder / name
    try:
        for part in (*reversed(path.relative_to(folder).parents[:-1]), Path(name)):
            if (folder / part).is_symlink():
                return SigningReason.LINKED(file=part.as_posix())
        there = path.lstat()
    except (OSError, ValueError):
        return None
    return None if stat.S_ISREG(there.st_mode) else SigningReason.NOT_A_FILE(file=name)


def sha256_of(path: Path) -> str | None:
    """SHA-256 of a file's bytes; None where it cannot be read."""
    try:
        return digest_of(path)
    except (OSError, ValueError):
        return None


_SHEETS = ("handover-*/customer*", "handover-*/internal*", "*/sheet.*")
"""Where sheets lie in a ticket's folder."""


def added(folder: Path, name: str) -> Reason:
    """That a file is no part of a folder; of a copied sheet also where its original lies."""
    digest = sha256_of(folder / name)
    for above in (folder, folder.parent) if digest else ():
        for pattern in _SHEETS:
            for sheet in sorted(above.glob(pattern)):
                if sheet != folder / name and sha256_of(sheet) == digest:
                    of = sheet.relative_to(above).as_posix()
                    return SigningReason.SHEET_COPIED(file=name, of=of)
    return SigningReason.FILE_ADDED(file=name)


def listed_in(listed: bytes) -> Iterator[tuple[int, str, str]]:
    """Number, digest and name of each line of a list of checksums; both empty for a bad line."""
    for number, line in enumerate(listed.decode("utf-8", "replace").splitlines(), start=1):
        digest, gap, name = line.partition("  ")
        outside = ".." in Path(name).parts or Path(name).is_absolute()
        good = bool(gap) and len(digest) == 64 and not outside and "\0" not in name
        yield (number, digest, name) if good else (number, "", "")
