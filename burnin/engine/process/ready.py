"""Whether a pipe can be read or written now, whatever its number: `select` knows the first 1024."""

from __future__ import annotations

import errno
import os
import select
import sys

_POLLIN, _POLLOUT = 0x001, 0x004
"""As poll(2) numbers them (POSIX leaves it open; Linux include/uapi/asm-generic/poll.h)."""


def ready_to_read(handle: int, within_s: float) -> bool:
    """Whether there is something to read, or the other end is gone, within so many seconds."""
    return _ready(handle, _POLLIN, within_s)


def ready_to_write(handle: int, within_s: float) -> bool:
    """Whether a write would not wait, or would fail at once, within so many seconds."""
    return _ready(handle, _POLLOUT, within_s)


def _ready(handle: int, event: int, within_s: float) -> bool:
    if sys.platform == "win32":  # no bench works a card from there
        raise OSError(errno.ENOSYS, os.strerror(errno.ENOSYS))
    else:
        asked = select.poll()
        asked.register(handle, event)
        return bool(asked.poll(max(0.0, within_s) * 1000.0))
