"""Small text files of sysfs read as values, and every way in which such a read fails, in words."""

from __future__ import annotations

import errno
import re

from burnin.card.files import BenchFiles
from burnin.core.reading import NotMeasured

REASONS: dict[int, str] = {
    errno.ENOENT: "the system does not offer it",
    errno.ENOTDIR: "the system does not offer it",
    errno.EACCES: "no permission to read it; run as root",
    errno.EPERM: "no permission to read it; run as root",
    errno.EIO: "input/output error: the card or its bus did not answer the driver",
    errno.ENODATA: "the driver has no data for it now",
    errno.ENODEV: "the device is gone",
    errno.ENXIO: "the device is gone",
    errno.EBUSY: "the driver is busy",
    errno.EAGAIN: "the driver has no data for it now",
    errno.ETIMEDOUT: "the card did not answer the driver in time",
    errno.EINVAL: "the driver does not support reading it in the present state",
    errno.EOPNOTSUPP: "the driver does not support it",
    errno.EISDIR: "there is a folder where a value should be",
    errno.ELOOP: "the path to it loops",
}
"""Error numbers of the operating system (POSIX.1, errno.h) and what they mean for a sensor."""

_INTEGER = re.compile(r"-?\d{1,25}", re.ASCII)
_HEX = re.compile(r"(?:0[xX])?[0-9a-fA-F]{1,16}", re.ASCII)

PAGE_BYTES = 4096
"""An attribute of sysfs is at most one page (Linux Documentation/filesystems/sysfs.rst)."""


def why(error: OSError, what: str) -> NotMeasured:
    """An operating system's error as the reason why `what` was not measured."""
    words = REASONS.get(error.errno or 0)
    if words is None:
        words = f"reading it failed: {error.strerror or error.__class__.__name__}"
    return NotMeasured(f"{words} ({what})")


class Attributes:
    """The attribute files in one folder; each read is one open, so that it is answered anew."""

    def __init__(self, files: BenchFiles, folder: str) -> None:
        self.files = files
        self.folder = folder

    def text(self, name: str) -> str | NotMeasured:
        """The file's text without surrounding white space; empty text is no value."""
        try:
            raw = self.files.read_bytes(f"{self.folder}/{name}", PAGE_BYTES)
        except OSError as error:
            return why(error, name)
        text = raw.decode("utf-8", errors="replace").strip("\0 \t\r\n")
        return text or NotMeasured(f"the driver answers with nothing ({name})")

    def integer(self, name: str) -> int | NotMeasured:
        """A decimal integer."""
        return self._number(name, _INTEGER, 10)

    def hexadecimal(self, name: str) -> int | NotMeasured:
        """A hexadecimal number with or without ``0x``."""
        return self._number(name, _HEX, 16)

    def scaled(self, name: str, unit: float) -> float | NotMeasured:
        """A decimal integer times `unit`, e.g. millidegrees with unit 0.001."""
        value = self.integer(name)
        return value if isinstance(value, NotMeasured) else value * unit

    def _number(self, name: str, pattern: re.Pattern[str], base: int) -> int | NotMeasured:
        text = self.text(name)
        if isinstance(text, NotMeasured):
            return text
        if pattern.fullmatch(text) is None:
            return NotMeasured(f"{name} holds {text[:24]!r}, which is not a number")
        return int(text, base)

    def names(self) -> list[str]:
        """Names in the folder, sorted; none where the folder cannot be listed."""
        try:
            return self.files.list_folder(self.folder)
        except OSError:
            return []

    def below(self, name: str) -> Attributes:
        """The attributes of a folder inside this one."""
        return Attributes(self.files, f"{self.folder}/{name}")
