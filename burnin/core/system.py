"""From the operating system's errors to ours: one table, by the number that the system gives."""

from __future__ import annotations

import errno

from burnin.core import errors
from burnin.core.files.bounded import NoRegularFile, TooLarge
from burnin.core.meaning import Reason, ReasonCode, Term, TermCode, Value


class SystemReason(ReasonCode):
    """Why the operating system would not; `file` is its path, a term where it told none.

    `words` are the system's own, `number` its errno, `why` is a `SystemTerm`.
    """

    DISK_FULL = "system_disk_full", "file"
    DISK_READ_ONLY = "system_disk_read_only", "file"
    DISK_BROKEN = "system_disk_broken", "file"
    NOT_PERMITTED = "system_not_permitted", "file"
    NOT_FOUND = "system_not_found", "file"
    TOO_MANY_FILES = "system_too_many_files"
    NOBODY_READS = "system_nobody_reads"
    REFUSED = "system_refused", "file", "words", "number"
    CANNOT_READ = "system_cannot_read", "file", "why"
    CANNOT_WRITE = "system_cannot_write", "file", "why"


class SystemTerm(TermCode):
    """What stands in the place of a file that the system did not name; why it would not."""

    THIS_COMPUTER = "system_this_computer"
    NOT_THERE = "system_not_there"
    MAY_NOT = "system_may_not"
    A_FOLDER = "system_a_folder"
    NO_FOLDER = "system_no_folder"
    FULL = "system_full"
    READ_ONLY = "system_read_only"
    BROKEN = "system_broken"
    NAME_TOO_LONG = "system_name_too_long"
    NO_NAME = "system_no_name"
    NO_REGULAR_FILE = "system_no_regular_file"
    TOO_LARGE = "system_too_large", "size_bytes", "most_bytes"
    OWN_WORDS = "system_own_words", "words"


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


_WHY: dict[int, SystemTerm] = {
    errno.ENOENT: SystemTerm.NOT_THERE,
    errno.EACCES: SystemTerm.MAY_NOT,
    errno.EPERM: SystemTerm.MAY_NOT,
    errno.EISDIR: SystemTerm.A_FOLDER,
    errno.ENOTDIR: SystemTerm.NO_FOLDER,
    errno.ENOSPC: SystemTerm.FULL,
    errno.EDQUOT: SystemTerm.FULL,
    errno.EROFS: SystemTerm.READ_ONLY,
    errno.EIO: SystemTerm.BROKEN,
    errno.ENAMETOOLONG: SystemTerm.NAME_TOO_LONG,
}


def cannot_read(file: object, error: OSError | ValueError) -> Reason:
    """That a file which somebody named cannot be read, and why."""
    return SystemReason.CANNOT_READ(file=str(file), why=cannot_read_why(error))


def cannot_write(file: object, error: OSError | ValueError) -> Reason:
    """That a file or folder cannot be written or made, and why."""
    return SystemReason.CANNOT_WRITE(file=str(file), why=cannot_read_why(error))


def cannot_read_why(error: OSError | ValueError) -> Term:
    """Why a file cannot be read or written, and what to do about it."""
    if not isinstance(error, OSError):
        return SystemTerm.NO_NAME()  # a zero byte in it
    if isinstance(error, TooLarge):
        return SystemTerm.TOO_LARGE(size_bytes=error.size_bytes, most_bytes=error.most_bytes)
    if isinstance(error, NoRegularFile):
        return SystemTerm.NO_REGULAR_FILE()
    known = _WHY.get(error.errno or 0)
    words = error.strerror or str(error)
    return SystemTerm.OWN_WORDS(words=words) if known is None else known()


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
