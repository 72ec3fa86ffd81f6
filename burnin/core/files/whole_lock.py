"""The lock of an open file as a whole; the system lets go of it when its holder ends."""

from __future__ import annotations

import sys


def lock_alone(handle: int) -> None:
    """Hold an open file, or folder, alone.

    Raises BlockingIOError where somebody holds it, and OSError where it cannot be locked (some
    network shares, folders on Windows).
    """
    _lock(handle, alone=True)


def lock_beside_readers(handle: int) -> None:
    """Hold it as others may who only look; raises as `lock_alone`."""
    _lock(handle, alone=False)


if sys.platform == "win32":

    def _lock(handle: int, *, alone: bool) -> None:
        import portalocker

        kind = portalocker.LockFlags.EXCLUSIVE if alone else portalocker.LockFlags.SHARED
        try:
            portalocker.lock(handle, kind | portalocker.LockFlags.NON_BLOCKING)
        except portalocker.AlreadyLocked as error:
            raise BlockingIOError(*error.args) from error
        except portalocker.LockException as error:
            raise OSError(*error.args) from error

else:

    def _lock(handle: int, *, alone: bool) -> None:
        import fcntl

        fcntl.flock(handle, (fcntl.LOCK_EX if alone else fcntl.LOCK_SH) | fcntl.LOCK_NB)
