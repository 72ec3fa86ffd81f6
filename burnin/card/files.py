"""The one seam through which a bench's files are read: sysfs, DRM, hwmon, configuration space.

The real bench and the simulated machine both answer it, so that readers cannot tell them apart.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Protocol


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


def read_text(files: BenchFiles, path: str) -> str:
    """A file's text without the line end; undecodable bytes are replaced, never raised."""
    return files.read_bytes(path).decode("utf-8", errors="replace").strip()
