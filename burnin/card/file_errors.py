"""What the operating system's errors mean when a file of the bench is opened, listed or read.

Which errors there are: open(2), read(2), getdents(2), readlink(2) and stat(2) of the Linux manual,
and what drivers give back from the files that they show in sysfs and hwmon (Linux
include/uapi/asm-generic/errno.h). A test walks the table.
"""

from __future__ import annotations

import errno

from burnin.core.meaning import ReasonCode
from burnin.core.reading import NotMeasured


class FileReason(ReasonCode):
    """Why a file gave no value; `name` is the file's or the value's."""

    NOT_OFFERED = "file_not_offered", "name"
    NO_PERMISSION = "file_no_permission", "name"
    NO_ANSWER_FROM_CARD = "file_no_answer_from_card", "name"
    GARBLED_ANSWER = "file_garbled_answer", "name"
    NO_ANSWER_IN_TIME = "file_no_answer_in_time", "name"
    NO_DATA_NOW = "file_no_data_now", "name"
    DEVICE_GONE = "file_device_gone", "name"
    DRIVER_BUSY = "file_driver_busy", "name"
    NOT_IN_THIS_STATE = "file_not_in_this_state", "name"
    NOT_SUPPORTED = "file_not_supported", "name"
    VALUE_TOO_LARGE = "file_value_too_large", "name"
    IS_FOLDER = "file_is_folder", "name"
    PATH_LOOPS = "file_path_loops", "name"
    PATH_TOO_LONG = "file_path_too_long", "name"
    TOO_MANY_OPEN = "file_too_many_open", "name"
    BENCH_MEMORY_FULL = "file_bench_memory_full", "name"
    INTERRUPTED = "file_interrupted", "name"
    WRONG_CALL = "file_wrong_call", "name"
    UNKNOWN_ERROR = "file_unknown_error", "name", "number", "words"


EREMOTEIO = 121
"""The same number on every Linux machine of today (include/uapi/asm-generic/errno.h)."""
ENOTSUPP = 524
"""A driver's "operation is not supported" that the kernel should keep to itself and does not
(include/linux/errno.h); it has no name in POSIX."""

CODES: dict[int, FileReason] = {
    errno.ENOENT: FileReason.NOT_OFFERED,
    errno.ENOTDIR: FileReason.NOT_OFFERED,
    errno.EACCES: FileReason.NO_PERMISSION,
    errno.EPERM: FileReason.NO_PERMISSION,
    errno.EIO: FileReason.NO_ANSWER_FROM_CARD,
    EREMOTEIO: FileReason.NO_ANSWER_FROM_CARD,
    errno.EBADMSG: FileReason.GARBLED_ANSWER,
    errno.EPROTO: FileReason.GARBLED_ANSWER,
    errno.EILSEQ: FileReason.GARBLED_ANSWER,
    errno.ETIMEDOUT: FileReason.NO_ANSWER_IN_TIME,
    errno.ETIME: FileReason.NO_ANSWER_IN_TIME,
    errno.ENODATA: FileReason.NO_DATA_NOW,
    errno.EAGAIN: FileReason.NO_DATA_NOW,
    errno.EINPROGRESS: FileReason.NO_DATA_NOW,
    errno.ECANCELED: FileReason.NO_DATA_NOW,
    errno.ENODEV: FileReason.DEVICE_GONE,
    errno.ENXIO: FileReason.DEVICE_GONE,
    errno.ESHUTDOWN: FileReason.DEVICE_GONE,
    errno.ESTALE: FileReason.DEVICE_GONE,
    errno.EBUSY: FileReason.DRIVER_BUSY,
    errno.EINVAL: FileReason.NOT_IN_THIS_STATE,
    errno.EOPNOTSUPP: FileReason.NOT_SUPPORTED,
    errno.ENOSYS: FileReason.NOT_SUPPORTED,
    ENOTSUPP: FileReason.NOT_SUPPORTED,
    errno.ERANGE: FileReason.VALUE_TOO_LARGE,
    errno.EOVERFLOW: FileReason.VALUE_TOO_LARGE,
    errno.EFBIG: FileReason.VALUE_TOO_LARGE,
    errno.EISDIR: FileReason.IS_FOLDER,
    errno.ELOOP: FileReason.PATH_LOOPS,
    errno.ENAMETOOLONG: FileReason.PATH_TOO_LONG,
    errno.EMFILE: FileReason.TOO_MANY_OPEN,
    errno.ENFILE: FileReason.TOO_MANY_OPEN,
    errno.ENOMEM: FileReason.BENCH_MEMORY_FULL,
    errno.EINTR: FileReason.INTERRUPTED,
    errno.EFAULT: FileReason.WRONG_CALL,
    errno.EBADF: FileReason.WRONG_CALL,
}
"""Error numbers of the operating system and what they mean for a sensor."""

GONE = tuple(
    number
    for number, code in CODES.items()
    if code in (FileReason.NOT_OFFERED, FileReason.DEVICE_GONE)
)
"""Errors of a file that every card has which say that the card is there no longer."""


def why_unread(error: OSError, name: str) -> NotMeasured:
    """An operating system's error as the reason why `name` was not measured."""
    code = CODES.get(error.errno or 0)
    if code is not None:
        return NotMeasured(code(name=name))
    words = error.strerror or error.__class__.__name__
    return NotMeasured(FileReason.UNKNOWN_ERROR(name=name, number=error.errno or 0, words=words))
