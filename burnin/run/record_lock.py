"""One run a record: its folder is held by the run that writes it, until that is gone.

The lock is an flock on the folder itself: it leaves no file, and the kernel lets go of it when the
process ends, however it ends.
"""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from burnin.core.errors import HeldByAnotherRun
from burnin.core.files.open_flags import CLOEXEC, DIRECTORY
from burnin.core.files.whole_lock import lock_alone
from burnin.record.log_lock import holder_of
from burnin.run.reasons import RunReason


class RecordLock:
    """A record's folder, held until `release` or the end of this process."""

    def __init__(self, handle: int | None) -> None:
        self._handle = handle

    def release(self) -> None:
        """Let others write there; a second time changes nothing."""
        handle, self._handle = self._handle, None
        if handle is not None:
            with contextlib.suppress(OSError):
                os.close(handle)

    def __del__(self) -> None:
        self.release()


def lock_record(folder: Path) -> RecordLock:
    """Hold a record's folder; raises HeldByAnotherRun where another run writes there.

    A file system that knows no locks (some network shares) holds nothing: the card's own lock still
    does. A folder that is not there yet is held by nobody.
    """
    try:
        handle = os.open(folder, os.O_RDONLY | DIRECTORY | CLOEXEC)
    except OSError:
        return RecordLock(None)
    try:
        lock_alone(handle)
    except BlockingIOError:
        os.close(handle)
        raise HeldByAnotherRun(RunReason.RECORD_HELD(record=str(folder))) from None
    except OSError:
        os.close(handle)
        return RecordLock(None)
    return RecordLock(handle)


def is_held(folder: Path) -> bool | None:
    """Whether some run holds a record's folder now; the lock is looked at, never taken.

    None where the system lists no locks (proc(5)), so that nobody can say.
    """
    if not Path("/proc/locks").exists():
        return None
    try:
        handle = os.open(folder, os.O_RDONLY | DIRECTORY | CLOEXEC)
    except OSError:
        return None
    try:
        return holder_of(handle) is not None
    finally:
        os.close(handle)
