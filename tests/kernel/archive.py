"""The archive that a kernel unpacks as its first root: cpio, "newc" (cpio(5), initramfs of Linux
Documentation/driver-api/early-userspace/buffer-format.rst)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import PurePosixPath

_FOLDER, _FILE = 0o040000, 0o100000
_LAST = "TRAILER!!!"


@dataclass(frozen=True)
class File:
    """A file of the archive, by its path without a leading slash."""

    path: str
    data: bytes
    mode: int = 0o644


def archive(files: Iterable[File]) -> bytes:
    """These files with the folders above them."""
    parts: list[bytes] = []
    folders: set[str] = set()
    for file in files:
        for folder in reversed(PurePosixPath(file.path).parents):
            if str(folder) not in (".", *folders):
                folders.add(str(folder))
                parts.append(_entry(str(folder), b"", _FOLDER | 0o755, len(parts)))
        parts.append(_entry(file.path, file.data, _FILE | file.mode, len(parts)))
    return b"".join([*parts, _entry(_LAST, b"", 0, 0)])


def _entry(path: str, data: bytes, mode: int, number: int) -> bytes:
    name = path.encode() + b"\0"
    fields = (number, mode, 0, 0, 1, 0, len(data), 0, 0, 0, 0, len(name), 0)
    head = b"070701" + b"".join(b"%08x" % field for field in fields)
    return _padded(head + name) + _padded(data)


def _padded(data: bytes) -> bytes:
    return data + bytes(-len(data) % 4)
