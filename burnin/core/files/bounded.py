"""Files of people read with a bound: the size is looked at first, and only regular files are read.

What somebody brings may be a hundred megabytes, a device that never ends or a pipe that never
begins; nothing of it is worth waiting for.
"""

from __future__ import annotations

import errno
import hashlib
import os
import stat
from pathlib import Path

from burnin.core.files.open_flags import BINARY, CLOEXEC, NONBLOCK

TEXT_BYTES = 1 << 20
"""Most of a file that a person writes by hand: profile, scenario, shop file, words."""
SMALL_BYTES = 1 << 16
"""Most of a key, a signature, a head of a log."""
_ANY_SIZE = 1 << 62
NOT_WHOLE = (ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError)
"""What comes of taking JSON that somebody made up for what should stand there."""


class NoRegularFile(OSError):
    """A device, a pipe, a socket: nothing of it is waited for."""


class TooLarge(OSError):
    """A file is larger than any of its kind."""

    size_bytes = 0
    most_bytes = 0


def read_at_most(path: Path, most_bytes: int) -> bytes:
    """All bytes of a regular file of at most `most_bytes`.

    Raises OSError, with words for a person in `strerror`, where it is larger or no regular file.
    """
    handle = _opened(path, most_bytes)
    try:
        parts: list[bytes] = []
        left, done = most_bytes + 1, 0  # it may grow while it is read
        while left > 0:
            # All of it in one piece where it stands still, so that it is never in memory twice.
            part = os.read(handle, max(1, min(left, os.fstat(handle).st_size + 1 - done)))
            if not part:
                break
            parts.append(part)
            done += len(part)
            left -= len(part)
    finally:
        os.close(handle)
    if left <= 0:
        raise _too_large(path, most_bytes + 1, most_bytes)
    return parts[0] if len(parts) == 1 else b"".join(parts)


def size_within(path: Path, most_bytes: int) -> int:
    """Size in bytes of a regular file of at most `most_bytes`; raises OSError as `read_at_most`."""
    return _checked(path, path.stat(), most_bytes)


def _opened(path: Path, most_bytes: int) -> int:
    # Not blocking: a named pipe that nobody writes would be waited for for ever.
    handle = os.open(path, os.O_RDONLY | CLOEXEC | NONBLOCK | BINARY)
    try:
        _checked(path, os.fstat(handle), most_bytes)
    except OSError:
        os.close(handle)
        raise
    return handle


def _checked(path: Path, found: os.stat_result, most_bytes: int) -> int:
    if stat.S_ISDIR(found.st_mode):
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
    if not stat.S_ISREG(found.st_mode):
        raise NoRegularFile(errno.EINVAL, "it is no regular file", str(path))
    if found.st_size > most_bytes:
        raise _too_large(path, found.st_size, most_bytes)
    return found.st_size


def _too_large(path: Path, size_bytes: int, most_bytes: int) -> OSError:
    told = f"it has {size_bytes:,} bytes; such a file has at most {most_bytes:,}"
    error = TooLarge(errno.EOVERFLOW, told, str(path))
    error.size_bytes, error.most_bytes = size_bytes, most_bytes
    return error


def sha256_of(path: Path) -> str:
    """SHA-256 of a regular file of any size in hexadecimal, read piece by piece; raises OSError."""
    handle = _opened(path, _ANY_SIZE)
    with os.fdopen(handle, "rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
