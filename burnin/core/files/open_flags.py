"""How files are opened on each system: a flag that one lacks is nothing there."""

from __future__ import annotations

import os
import sys

CLOEXEC: int = getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_NOINHERIT", 0)
NONBLOCK: int = getattr(os, "O_NONBLOCK", 0)
"""A named pipe that nobody writes is not waited for."""
DIRECTORY: int = getattr(os, "O_DIRECTORY", 0)
NOFOLLOW: int = getattr(os, "O_NOFOLLOW", 0)
BINARY: int = getattr(os, "O_BINARY", 0)
"""Bytes as they are: Windows makes others of the ends of lines without it."""


def never_waits(handle: int) -> None:
    """From now on nothing is waited for at a pipe; where the system cannot, it stays as it is."""
    if sys.platform != "win32":
        os.set_blocking(handle, False)
