"""Every error that a file of the bench may give is a reason that a technician can use."""

from __future__ import annotations

import errno
import os

import pytest

from burnin.card.attributes import Attributes
from burnin.card.file_errors import CODES, ENOTSUPP, FileReason, why_unread
from burnin.card.files import BenchFiles
from burnin.core.reading import NotMeasured
from burnin.report.languages.catalogue import catalogue

MANUAL = {
    # open(2), of a file that is there and opened for reading
    *("EACCES", "EBUSY", "EFAULT", "EINTR", "EINVAL", "EISDIR", "ELOOP", "EMFILE", "ENAMETOOLONG"),
    *("ENFILE", "ENODEV", "ENOENT", "ENOMEM", "ENOTDIR", "ENXIO", "EOVERFLOW", "EPERM", "EAGAIN"),
    # read(2)
    *("EAGAIN", "EBADF", "EFAULT", "EINTR", "EINVAL", "EIO", "EISDIR"),
    # getdents(2), readlink(2), stat(2)
    *("EBADF", "EFAULT", "EINVAL", "ENOENT", "ENOTDIR", "EACCES", "EIO", "ELOOP", "ENAMETOOLONG"),
}
"""Errors of the Linux manual that do not need writing."""
DRIVERS = {
    *("EREMOTEIO", "EBADMSG", "EPROTO", "EILSEQ", "ETIMEDOUT", "ETIME", "ENODATA", "EINPROGRESS"),
    *("ECANCELED", "ESHUTDOWN", "ESTALE", "EOPNOTSUPP", "ENOSYS", "ERANGE", "EFBIG"),
}
"""What else drivers give back from a file of sysfs or hwmon."""


class Refusing:
    """Files that refuse with one error, whatever their path."""

    def __init__(self, number: int) -> None:
        self._number = number

    def _refuse(self) -> OSError:
        return OSError(self._number, os.strerror(self._number))

    def read_bytes(self, path: str, limit: int = 1 << 20) -> bytes:  # noqa: ARG002
        raise self._refuse()

    def list_folder(self, path: str) -> list[str]:  # noqa: ARG002
        raise self._refuse()

    def resolve(self, path: str) -> str:  # noqa: ARG002
        raise self._refuse()


@pytest.mark.parametrize("name", sorted(MANUAL | DRIVERS))
def test_every_error_has_its_code_and_words(name: str) -> None:
    files: BenchFiles = Refusing(getattr(errno, name))
    value = Attributes(files, "/f").integer("temp1_input")
    assert isinstance(value, NotMeasured)
    assert value.reason.means(*FileReason)
    assert not value.reason.means(FileReason.UNKNOWN_ERROR)
    for language in ("en", "de"):
        assert catalogue(language).knows(value.reason.code)
        assert "temp1_input" in catalogue(language).say(value.reason)


def test_the_table_holds_nothing_else() -> None:
    assert set(CODES) == {getattr(errno, name) for name in MANUAL | DRIVERS} | {ENOTSUPP}
    assert set(CODES.values()) == set(FileReason) - {FileReason.UNKNOWN_ERROR}


@pytest.mark.parametrize(
    ("number", "words"),
    [
        ("ENOENT", "the system does not offer it"),
        ("EACCES", "no permission"),
        ("EPERM", "no permission"),
        ("EIO", "input/output error"),
        ("ENODATA", "no data"),
        ("EAGAIN", "no data"),
        ("ENODEV", "gone"),
        ("ENXIO", "gone"),
        ("EBUSY", "busy"),
        ("ETIMEDOUT", "in time"),
        ("EINVAL", "does not support"),
        ("EOPNOTSUPP", "does not support"),
        ("ENOTDIR", "does not offer"),
        ("EISDIR", "folder"),
        ("ELOOP", "loops"),
    ],
)
def test_the_commonest_say_what_is_wrong(number: str, words: str) -> None:
    reason = why_unread(OSError(getattr(errno, number), "x"), "temp1_input").reason
    assert words in catalogue("en").say(reason)


def test_an_error_that_the_table_lacks_keeps_the_systems_words() -> None:
    reason = why_unread(OSError(errno.EDQUOT, "Disk quota exceeded"), "x").reason
    assert reason.means(FileReason.UNKNOWN_ERROR)
    assert reason["words"] == "Disk quota exceeded"
    assert "Disk quota exceeded" in catalogue("en").say(reason)
    assert why_unread(OSError(), "x").reason["words"] == "OSError"
