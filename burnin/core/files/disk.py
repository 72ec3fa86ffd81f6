"""Bytes to a disk, and what it answers: all that whoever keeps data asks of the operating system.

What is on disk once a call here has returned stays there when the power goes: a file's bytes, its
name in its folder, the folder's name in the one above. Errors are OSError with the file's path.
"""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TypeVar

from burnin.core.files.open_flags import BINARY, DIRECTORY

T = TypeVar("T")

PASSING = ".new"
"""Ending of a file that is about to take another's place; one that lies there was left by a cut."""
_MOST_INTERRUPTIONS = 100
"""Times in a row that a signal may interrupt one call; more is no signal but a broken system."""


def open_to_append(path: Path) -> int:
    """A handle that only adds to the end; the file is made where it is missing."""
    with _about(path):
        return _again(lambda: os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND | BINARY, 0o644))


def write_all(handle: int, text: bytes, path: Path | None = None) -> None:
    """Write everything, or raise OSError and leave the file as it was.

    A write that stores less than it was given is no error: the rest follows. A full disk must not
    tear a line that the next one would be glued to.
    """
    with _about(path):
        size = os.fstat(handle).st_size
        try:
            written = 0
            while written < len(text):
                stored = _again(partial(os.write, handle, text[written:]))
                if not stored:
                    raise OSError(errno.EIO, os.strerror(errno.EIO))
                written += stored
        except OSError:
            os.ftruncate(handle, size)
            raise


def sync(handle: int, path: Path | None = None) -> None:
    """Wait until the disk has a file's bytes; a file that lost its name since is an error too."""
    with _about(path):
        _again(lambda: _to_disk(handle))
        if not os.fstat(handle).st_nlink:
            # The rows went where nobody can ever read them: somebody removed or replaced the file.
            raise OSError(errno.ENOENT, os.strerror(errno.ENOENT))


def sync_folder(folder: Path) -> None:
    """Wait until the disk has the names in a folder; Windows has no such call."""
    if sys.platform != "win32":
        _sync_folder(folder)


def _sync_folder(folder: Path) -> None:
    with _about(folder):
        handle = _again(lambda: os.open(folder, os.O_RDONLY | DIRECTORY))
        try:
            _again(lambda: os.fsync(handle))
        except OSError as error:
            if error.errno != errno.EINVAL:  # some network shares sync no folders
                raise
        finally:
            os.close(handle)


def sync_folder_and_above(folder: Path, levels: int = 3) -> None:
    """The names in a folder and in those above it, which may be as new as it is.

    Those above are synced where this account may: they may be somebody else's.
    """
    sync_folder(folder)
    for above in tuple(folder.absolute().parents)[: levels - 1]:
        try:
            sync_folder(above)
        except PermissionError:
            return


def replace_whole(path: Path, content: bytes) -> None:
    """Replace a file as a whole: after a power cut the old or the new one is there.

    Synced once more under its new name: FAT keeps a file's size and place beside its name, and
    writes them there, after a rename, only with the file itself (Linux fs/fat/namei_vfat.c).
    """
    fresh = path.with_name(path.name + PASSING)
    with _about(path):
        how = os.O_WRONLY | os.O_CREAT | os.O_TRUNC | BINARY
        handle = _again(lambda: os.open(fresh, how, 0o644))
        try:
            write_all(handle, content)
            _again(lambda: os.fsync(handle))
            if sys.platform != "win32":
                _again(lambda: fresh.replace(path))
                _again(lambda: os.fsync(handle))
        finally:
            os.close(handle)
        if sys.platform == "win32":  # a file that is open keeps its name there
            fresh.replace(path)
    sync_folder(path.parent)


def clear_passing(folder: Path) -> None:
    """Take away what a cut left of files that were about to take another's place."""
    for path in folder.iterdir():
        if path.name.endswith(PASSING) or _left_of_sheet(path):
            path.unlink(missing_ok=True)


def _to_disk(handle: int) -> None:
    """Bytes and size, or all that the file is where a system knows no less."""
    if sys.platform == "linux":
        os.fdatasync(handle)
    elif sys.platform == "darwin":
        import fcntl

        fcntl.fcntl(handle, fcntl.F_FULLFSYNC)
    else:
        os.fsync(handle)


def read_at(handle: int, most_bytes: int, offset: int) -> bytes:
    """Bytes from a place of an open file; where it stands is of no account."""
    if sys.platform == "win32":
        os.lseek(handle, offset, os.SEEK_SET)
        return os.read(handle, most_bytes)
    else:
        return os.pread(handle, most_bytes, offset)


TORN = b"\0"
"""Last byte of a line that a power cut tore, and that was ended when more was to follow."""


def end_of_torn(line: bytes) -> bytes:
    """What ends a line of CSV that a power cut tore, so that the next one stands alone.

    A zero byte marks it as torn: a line whose last number lost its end could pass for a whole one.
    """
    return (b'"' if line.count(b'"') % 2 else b"") + TORN + b"\n"


def _left_of_sheet(path: Path) -> bool:
    """Whether it is a sheet's file that was never finished, by a process that is gone."""
    parts = path.name.split(".")  # .NAME.PID.part
    passing = len(parts) > 3 and not parts[0] and parts[-1] == "part" and parts[-2].isdigit()
    return passing and not Path(f"/proc/{parts[-2]}").exists()


def _again(call: Callable[[], T]) -> T:
    """The call, once more where a signal interrupted it."""
    for _ in range(_MOST_INTERRUPTIONS):
        try:
            return call()
        except InterruptedError:
            continue
    return call()


@contextmanager
def _about(path: Path | None) -> Iterator[None]:
    """What the system says of a handle comes with the path of its file."""
    try:
        yield
    except OSError as error:
        if path is None or error.filename:
            raise
        raise OSError(error.errno, error.strerror or str(error), str(path)) from error
