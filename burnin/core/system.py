"""From the operating system's errors to ours: one table, by the number that the system gives."""

from __future__ import annotations

import errno

from burnin.core import errors
from burnin.core.meaning import Reason, ReasonCode, TermCode, Value


class SystemReason(ReasonCode):
    """Why the operating system would not; `file` is its path, a term where it told none.

    `words` are the system's own, `number` its errno.
    """

    DISK_FULL = "system_disk_full", "file"
    DISK_READ_ONLY = "system_disk_read_only", "file"
    DISK_BROKEN = "system_disk_broken", "file"
    NOT_PERMITTED = "system_not_permitted", "file"
    NOT_FOUND = "system_not_found", "file"
    TOO_MANY_FILES = "system_too_many_files"
    NOBODY_READS = "system_nobody_reads"
    REFUSED = "system_refused", "file", "words", "number"


class SystemTerm(TermCode):
    """What stands in the place of a file that the system did not name."""

    THIS_COMPUTER = "system_this_computer"


KNOWN: dict[int, tuple[type[errors.RefusedBySystem], SystemReason]] = {
    errno.ENOSPC: (errors.DiskFull, SystemReason.DISK_FULL),
    errno.EDQUOT: (errors.DiskFull, SystemReason.DISK_FULL),
    errno.EFBIG: (errors.DiskFull, SystemReason.DISK_FULL),
    errno.EROFS: (errors.DiskReadOnly, SystemReason.DISK_READ_ONLY),
    errno.EIO: (errors.DiskBroken, SystemReason.DISK_BROKEN),
    errno.EACCES: (errors.NotPermitted, SystemReason.NOT_PERMITTED),
    errno.EPERM: (errors.NotPermitted, SystemReason.NOT_PERMITTED),
    errno.ENOENT: (errors.NotFound, SystemReason.NOT_FOUND),
    errno.ENOTDIR: (errors.NotFound, SystemReason.NOT_FOUND),
    errno.EMFILE: (errors.TooManyFiles, SystemReason.TOO_MANY_FILES),
    errno.ENFILE: (errors.TooManyFiles, SystemReason.TOO_MANY_FILES),
    errno.EPIPE: (errors.NobodyReads, SystemReason.NOBODY_READS),
}
"""Numbers as in POSIX.1-2017, <errno.h>; any other becomes `RefusedBySystem` with its words."""


def ours(error: OSError) -> errors.RefusedBySystem:
    """The error of our tree for one of the operating system's."""
    file: Value = str(error.filename) if error.filename else SystemTerm.THIS_COMPUTER()
    kind, code = KNOWN.get(error.errno or 0, (errors.RefusedBySystem, SystemReason.REFUSED))
    known: dict[str, Value] = {
        "file": file,
        "words": error.strerror or str(error),
        "number": error.errno or 0,
    }
    reason: Reason = code(**{name: known[name] for name in code.fields})
    return kind(reason)
