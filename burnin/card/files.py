"""The one seam through which a bench's files are read: sysfs, DRM, hwmon, configuration space.

The real bench and the simulated machine both answer it, so that readers cannot tell them apart.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Protocol, runtime_checkable

from burnin.core.files.open_flags import CLOEXEC, NONBLOCK

_MOST_OF_A_RECORD = 8192
"""Longest record of ``/dev/kmsg`` (PRINTK_MESSAGE_MAX of the kernel is 2,048)."""


class BenchFiles(Protocol):
    """Read access to absolute paths such as ``/sys/bus/pci/devices/0000:01:00.0/vendor``.

    Every method raises OSError as the operating system would (FileNotFoundError,
    PermissionError, …).
    """

    def read_bytes(self, path: str, limit: int = 1 << 20) -> bytes:
        """At most `limit` bytes of the file; fewer where the file or a privilege ends."""
        ...

    def list_folder(self, path: str) -> list[str]:
        """Names in a folder, sorted."""
        ...

    def resolve(self, path: str) -> str:
        """The absolute path with every symbolic link followed."""
        ...


class RecordStream(Protocol):
    """A file that gives one record a read and never ends, such as ``/dev/kmsg``."""

    def next(self) -> bytes | None:
        """The next record; None where there is none yet.

        Raises BrokenPipeError where records were overwritten before they were read: the next call
        goes on with the oldest that there is.
        """
        ...

    def close(self) -> None:
        """Close the file."""
        ...


@runtime_checkable
class OpensRecords(Protocol):
    """A bench whose files of records can be followed."""

    def open_records(self, path: str) -> RecordStream:
        """The file from now on, without what it held before; raises OSError."""
        ...


class _HostRecords:
    """A file of records of this bench."""

    def __init__(self, path: Path) -> None:
        self._handle = os.open(path, os.O_RDONLY | NONBLOCK | CLOEXEC)
        try:
            os.lseek(self._handle, 0, os.SEEK_END)
        except OSError:
            self.close()
            raise

    def next(self) -> bytes | None:
        try:
            return os.read(self._handle, _MOST_OF_A_RECORD) or None
        except BlockingIOError:
            return None

    def close(self) -> None:
        handle, self._handle = self._handle, -1
        if handle >= 0:
            os.close(handle)


class HostFiles:
    """The files of this bench; `root` puts a recorded tree in the place of ``/``."""

    def __init__(self, root: Path = Path("/")) -> None:
        self._root = root

    def _at(self, path: str) -> Path:
        return self._root / path.lstrip("/")

    def read_bytes(self, path: str, limit: int = 1 << 20) -> bytes:
        """At most `limit` bytes, read unbuffered: sysfs answers anew at each open."""
        handle = os.open(self._at(path), os.O_RDONLY)
        try:
            parts: list[bytes] = []
            left = limit
            while left > 0:
                part = os.read(handle, left)
                if not part:
                    break
                parts.append(part)
                left -= len(part)
            return b"".join(parts)
        finally:
            os.close(handle)

    def list_folder(self, path: str) -> list[str]:
        """Names in a folder, sorted."""
        return sorted(entry.name for entry in self._at(path).iterdir())

    def resolve(self, path: str) -> str:
        """The absolute path with every symbolic link followed."""
        real = self._at(path).resolve(strict=True)
        root = self._root.resolve()
        return "/" + str(real.relative_to(root)).lstrip("/")

    def open_records(self, path: str) -> RecordStream:
        """The file from now on; see `OpensRecords`."""
        return _HostRecords(self._at(path))


def read_text(files: BenchFiles, path: str) -> str:
    """A file's text without the line end; undecodable bytes are replaced, never raised."""
    return files.read_bytes(path).decode("utf-8", errors="replace").strip()
