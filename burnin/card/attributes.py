"""Small text files of sysfs read as values, or why there is none."""

from __future__ import annotations

import re

from burnin.card.file_errors import why_unread
from burnin.card.files import BenchFiles
from burnin.card.meanings import AttributeReason
from burnin.core.reading import NotMeasured

_INTEGER = re.compile(r"-?\d{1,25}", re.ASCII)
_HEX = re.compile(r"(?:0[xX])?[0-9a-fA-F]{1,16}", re.ASCII)

PAGE_BYTES = 4096
"""An attribute of sysfs is at most one page (Linux Documentation/filesystems/sysfs.rst)."""


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
            return why_unread(error, name)
        text = raw.decode("utf-8", errors="replace").strip("\0 \t\r\n")
        return text or NotMeasured(AttributeReason.EMPTY(name=name))

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
            shown = "".join(c if c.isprintable() else "·" for c in text[:24])
            return NotMeasured(AttributeReason.NOT_A_NUMBER(name=name, text=shown))
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
