"""The lock of a log that several people append to: who holds it, and how long it is waited for.

An advisory lock of the whole file (flock(2)); the kernel lists its holder in ``/proc/locks``
(proc(5)), from which the name of the process is taken.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from burnin.core.errors import BadInput
from burnin.core.files.open_flags import BINARY
from burnin.core.files.whole_lock import lock_alone
from burnin.core.meaning import Reason
from burnin.core.waiting import tell_waiting
from burnin.record.reasons import RecordReason

TELL_AFTER_S = 1.0
"""A writer holds the lock for milliseconds; whoever holds it for longer is named."""
GIVE_UP_AFTER_S = 10.0
"""Longer than a slow disk takes for one line; a stopped process holds it for ever."""
_LOOK_AGAIN_S = 0.02


@contextmanager
def locked(path: Path, *, give_up_after_s: float = GIVE_UP_AFTER_S) -> Iterator[int]:
    """A handle of the log, with nobody else writing meanwhile; made where there is none.

    Says who holds the log when it has waited for `TELL_AFTER_S`. Raises BadInput when it has
    waited for `give_up_after_s`, and OSError where the file cannot be opened.
    """
    handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_APPEND | BINARY, 0o664)
    try:
        _wait(handle, path, give_up_after_s)
        yield handle
    finally:
        os.close(handle)


def _wait(handle: int, path: Path, give_up_after_s: float) -> None:
    began, is_told = time.monotonic(), False
    while True:
        try:
            lock_alone(handle)
        except BlockingIOError:
            pass
        else:
            return
        waited_s = time.monotonic() - began
        if waited_s >= give_up_after_s:
            raise BadInput(_why(handle, path, RecordReason.LOG_HELD_GIVEN_UP, waited_s))
        if waited_s >= TELL_AFTER_S and not is_told:
            is_told = True
            tell_waiting(_why(handle, path, RecordReason.LOG_HELD, give_up_after_s - waited_s))
        time.sleep(_LOOK_AGAIN_S)


def _why(handle: int, path: Path, code: RecordReason, seconds: float) -> Reason:
    holder = holder_of(handle)
    if holder is None:
        who: Reason = RecordReason.HOLDER_UNKNOWN()
    else:
        process, stopped = _process(holder)
        named = RecordReason.HOLDER_STOPPED if stopped else RecordReason.HOLDER
        who = named(process=process, number=holder)
    return code(file=str(path), who=who, seconds=seconds)


def holder_of(handle: int) -> int | None:
    """Number of the process that holds the lock of an open file; None where nobody can say."""
    there = os.fstat(handle)
    device = _device_of(there)
    try:
        lines = Path("/proc/locks").read_text("ascii", "replace").splitlines()
    except OSError:
        return None
    found: list[int] = []
    for line in lines:
        parts = line.split()
        if len(parts) < 6 or parts[1] != "FLOCK" or not parts[4].isdecimal():
            continue
        # Stacked file systems list another device than they give; the inode tells it all the same.
        if parts[5] == device:
            return int(parts[4])
        if parts[5].rpartition(":")[2] == str(there.st_ino):
            found.append(int(parts[4]))
    return found[0] if len(found) == 1 else None


def _device_of(there: os.stat_result) -> str:
    """As ``/proc/locks`` writes it; nothing that any line is where the system has none."""
    if sys.platform == "win32":
        return ""
    else:  # each branch is another system's
        return f"{os.major(there.st_dev):02x}:{os.minor(there.st_dev):02x}:{there.st_ino}"


def _process(number: int) -> tuple[str, bool]:
    """Name of a process, and whether somebody stopped it."""
    try:
        text = Path(f"/proc/{number}/stat").read_text("utf-8", "replace")
    except OSError:
        return "–", False
    name, _, rest = text.partition("(")[2].rpartition(")")
    return name, rest.split()[:1] in (["T"], ["t"])
