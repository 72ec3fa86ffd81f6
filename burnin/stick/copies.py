"""What is copied between the journal, in which runs are recorded, and the records partition.

A file is written under a passing name, synced, and only then takes its own name: a cut of the power
leaves the old file or the new one, and a later start copies the rest.
"""

from __future__ import annotations

import os
from pathlib import Path

from burnin.core.files.disk import sync_folder

_PASSING = ".burnin-part"
_PIECE_BYTES = 1 << 20


def copy_new(source: Path, target: Path) -> int:
    """Copy every file that is not there, or there with other bytes; gives how many were copied."""
    count = 0
    for folder, names, files in os.walk(source):
        names.sort()
        into = target / Path(folder).relative_to(source)
        into.mkdir(parents=True, exist_ok=True)
        changed = False
        for name in sorted(files):
            file = Path(folder) / name
            if name.endswith(_PASSING) or file.is_symlink() or not file.is_file():
                continue
            if not _same(file, into / name):
                _copy(file, into / name)
                changed = True
                count += 1
        if changed:
            sync_folder(into)
    return count


def _same(one: Path, other: Path) -> bool:
    if not other.is_file() or one.stat().st_size != other.stat().st_size:
        return False
    with one.open("rb") as a, other.open("rb") as b:
        while piece := a.read(_PIECE_BYTES):
            if piece != b.read(_PIECE_BYTES):
                return False
    return True


def _copy(source: Path, target: Path) -> None:
    """Synced again under its own name: FAT keeps size and place beside the name."""
    passing = target.with_name(f"{target.name}{_PASSING}")
    with source.open("rb") as reading, passing.open("wb") as writing:
        while piece := reading.read(_PIECE_BYTES):
            writing.write(piece)
        writing.flush()
        os.fsync(writing.fileno())
        if os.name == "posix":
            passing.replace(target)
            os.fsync(writing.fileno())
    if passing.exists():
        passing.replace(target)
